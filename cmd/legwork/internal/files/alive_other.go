//go:build !unix

package files

import "os"

// alive reports a process that hasn't ended.
func alive(pid int) bool {
	p, err := os.FindProcess(pid)
	if err != nil {
		return false
	}
	_ = p.Release()
	return true
}
