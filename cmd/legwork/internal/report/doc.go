// Package report writes what a job's record proves for those who weren't there:
// one self-contained page (HTML, no scripts, nothing loaded from elsewhere),
// Markdown, or JSON. It judges nothing: verdicts, predictions and comparisons
// are in the record as they were made.
//
// What a person typed is escaped by the rules of the place where it is
// (html/template for the page), and characters that could make text look like
// something else are shown as a mark.
package report
