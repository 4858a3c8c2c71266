// Package files writes files that are there whole or not at all, whatever goes
// wrong on the way. It knows nothing of what stands in them.
package files
