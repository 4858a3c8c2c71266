package link

import "syscall"

// connectionRefused is WSAECONNREFUSED, which is what Windows gives; Go's
// syscall.ECONNREFUSED is a number of Go's own there.
const connectionRefused = syscall.Errno(10061)
