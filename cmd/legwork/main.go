// Command legwork reads an electricity meter over Modbus and says whether its
// current transformers and voltage inputs are wired right.
package main

import "os"

func main() {
	os.Exit(run(os.Args[1:], os.Stdin, os.Stdout, os.Stderr))
}
