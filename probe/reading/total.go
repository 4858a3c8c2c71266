package reading

// Watts is the active power of all channels together in W: the meter's own
// total where it gives one, else the sum of the channels, unknown unless every
// channel's power is known.
func (r *Reading) Watts() Value {
	if r.TotalPower.Known() {
		return r.TotalPower
	}
	var sum float64
	for _, c := range r.Channels {
		w, ok := c.Power.Get()
		if !ok {
			return Value{}
		}
		sum += w
	}
	if len(r.Channels) == 0 {
		return Value{}
	}
	return Known(sum)
}
