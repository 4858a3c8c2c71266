// Package files writes files that are there whole or not at all, whatever goes
// wrong on the way, and never over what isn't the writer's own: another kind of
// file, a device, a pipe. A symbolic link keeps pointing at what is written. It
// knows nothing of what stands in the files.
package files
