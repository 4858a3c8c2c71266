//go:build !linux && !darwin

package serve

import "errors"

// ServePTY is not to be had on this system.
func (s *Server) ServePTY(Line) (string, error) {
	return "", errors.New("this system has no pseudo-terminals; use --rtu-listen and rtu+tcp:// instead")
}
