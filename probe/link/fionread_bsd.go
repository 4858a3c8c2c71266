//go:build unix && !linux

package link

// fionread asks how many bytes can be read at once (FIONREAD, sys/filio.h; the
// value is from memory).
const fionread = 0x4004667F
