package link

import "time"

// leastWait is the shortest wait that this system keeps.
const leastWait = time.Millisecond

// CheckKeyFile refuses a private key that others may read; who may is not asked
// of this system.
func CheckKeyFile(string) error { return nil }

// rights says how a user comes to a port.
func rights(string) string {
	return "does another program have it open? close that, or plug the adapter anew"
}
