// Package advice says in words what a group of arrangements claims, and lists the
// moves that make it right, the one with the least live work first.
//
// Words are made here from what the inference holds; nothing reads them back.
package advice
