package link

// rights says how a user comes to a port.
func rights(string) string {
	return "does another program have it open? close that, or plug the adapter anew"
}
