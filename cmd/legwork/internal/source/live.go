package source

// Live reports that readings of the meter are taken as they are asked for; else
// there is a file of them.
func (a Address) Live() bool { return a.Kind != Capture }
