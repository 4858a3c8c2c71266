// Package promql reads a meter's readings back from the metrics that a desk
// exports, as any server with the Prometheus query API keeps them.
//
// It asks with one instant query for a range, which gives samples as they were
// scraped: a range query would give them at steps of its own, repeat stale ones
// into gaps, and be refused where there are many. Samples of one instance and
// one scrape are one reading; one that was scraped twice counts once, by the
// time at which the meter was read.
package promql
