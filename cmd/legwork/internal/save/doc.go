// Package save adds readings to a capture: whole lines only, one saver at a time,
// of one meter, in order of time. What is there already is looked through first;
// what can't be gone on with is refused before anything is written.
package save
