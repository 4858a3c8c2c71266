// Package help holds the pages of `legwork help`: the trade's side in our own
// words, a file each. What is said there is common practice, no source, unless
// one stands with it; the names of the marks on CTs are those of IEC 61869-2
// and IEEE C57.13, from memory.
package help
