package source

// Live reports that readings of the meter are taken as they are asked for; else
// they are kept somewhere.
func (a Address) Live() bool { return a.Kind != Capture && a.Kind != PromQL }
