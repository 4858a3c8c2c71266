//go:build !windows

package link

import "syscall"

const connectionRefused = syscall.ECONNREFUSED
