// Package desk keeps reading and judging a list of meters, for as long as it
// runs, and shows what it knows: on a page that stays current, as JSON, and as
// metrics for a server that keeps history and raises alarms. It keeps no history
// and raises no alarm itself.
//
// Each wire goes at its own pace. Of a meter there is a bounded amount of
// evidence, which is forgotten in time: the wiring may be changed any day.
// Everything over HTTP is asked for with GET, and changes nothing.
package desk
