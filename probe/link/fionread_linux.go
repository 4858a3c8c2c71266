package link

import "golang.org/x/sys/unix"

// fionread asks how many bytes can be read at once.
const fionread = unix.TIOCINQ
