package sheet

import "fmt"

// MostBytes is the largest file that is read.
const MostBytes = 1 << 20

// TooLong refuses, as a Problem, what is longer than a file that a person writes.
func TooLong(src []byte) error {
	if len(src) <= MostBytes {
		return nil
	}
	return Problem{
		fmt.Sprintf("the file has %d bytes", len(src)),
		fmt.Sprintf("at most %d are read; is it the right file?", MostBytes),
	}
}

// tooMuch holds a file to every limit there is before it is parsed; line is
// where the first of them is passed, from 1.
func tooMuch(src []byte) (line int, err error) {
	return 1, TooLong(src)
}
