package source

// Live reports that readings of the meter are taken as they are asked for; else
// they are kept somewhere.
func (a Address) Live() bool { return a.Kind != Capture && a.Kind != PromQL }

// OnWire reports a METER in full that is read over a wire or a network, by a
// register map.
func (a Address) OnWire() bool {
	return a.Kind == TCP || a.Kind == TLS || a.Kind == RTU || a.Kind == RTUOverTCP
}
