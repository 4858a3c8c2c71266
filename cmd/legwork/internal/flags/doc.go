// Package flags gives commands the values of flags that are more than a text or
// a number: each is read and checked as it is given. What can't be taken is
// refused in one line, which names the flag, what is wrong and what would be
// right.
package flags
