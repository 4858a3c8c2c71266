package reading

import "time"

// PowerFactorSign says what the sign of a power factor tells.
type PowerFactorSign uint8

// What the sign of a power factor can tell.
const (
	SignTellsNothing PowerFactorSign = iota // the register is never negative
	SignTellsPower                          // it follows the sign of the active power
	SignTellsLagging                        // positive lags, negative leads: the sign of Q times P, no more
)

// Channel is what one voltage input and one current input of a meter see.
// Every field may be unknown.
type Channel struct {
	Voltage      Value // V rms
	Current      Value // A rms in the primary conductor
	Power        Value // W, positive from the source to the load
	Reactive     Value // var, positive for a lagging load
	Apparent     Value // VA
	PowerFactor  Value // -1 to 1; PowerFactorSign says what its sign tells
	EnergyImport Value // Wh
	EnergyExport Value // Wh

	Angle        Maybe[Angle] // arg V - arg I: positive when the current lags
	VoltageAngle Maybe[Angle] // from the voltage of channel 1, anticlockwise
	CurrentAngle Maybe[Angle] // from the voltage of channel 1, anticlockwise

	PowerFactorSign PowerFactorSign
	// ReactiveUnsigned marks a Reactive whose register can't be negative, so
	// that its sign says nothing.
	ReactiveUnsigned bool
}

// Reading is what a meter says at one instant.
type Reading struct {
	At       time.Time
	Service  string    // as declared where it was taken; may be empty
	Channels []Channel // channel 1 first; at most MaxChannels

	LineVoltages        [3]Value // V rms between channels 1 and 2, 2 and 3, 3 and 1
	Frequency           Value    // Hz
	TotalPower          Value    // W
	TotalReactive       Value    // var
	TotalEnergyImport   Value    // Wh
	TotalEnergyExport   Value    // Wh
	TotalApparentEnergy Value    // VAh
	CTPrimary           Value    // A, the rated primary current that the meter is set to
	NeutralCurrent      Value    // A rms

	Serial string // as the meter gives it; may be empty
	Model  string // as the meter gives it; may be empty

	// Meter and Map say in a capture where readings are from: the METER that was
	// asked and the hash of its register map. Mostly empty.
	Meter, Map string

	// Skew is the time between the first and the last answer that made up the
	// reading: quantities further apart than a load's change may disagree.
	Skew time.Duration
}

// MaxChannels is the most channels that a meter of this kind has.
const MaxChannels = 3

// Clone is a copy that shares nothing with r.
func (r Reading) Clone() Reading {
	r.Channels = append([]Channel(nil), r.Channels...)
	return r
}

// Number returns the numeric quantity at p, or unknown; a text point is unknown here.
func (r *Reading) Number(p Point) Value {
	if a := r.angleAt(p); a != nil {
		x, ok := a.Get()
		if !ok {
			return Value{}
		}
		return Known(float64(x))
	}
	if v := r.valueAt(p); v != nil {
		return *v
	}
	return Value{}
}

// SetNumber stores a quantity at p in SI units and these signs; angles are
// normalised. It reports whether p is a numeric point of a channel that r has.
func (r *Reading) SetNumber(p Point, v Value) bool {
	if a := r.angleAt(p); a != nil {
		x, ok := v.Get()
		*a = Maybe[Angle]{}
		if ok {
			*a = Known(Degrees(x))
		}
		return true
	}
	if at := r.valueAt(p); at != nil {
		*at = v
		return true
	}
	return false
}

// Text returns the text at p, or the empty string.
func (r *Reading) Text(p Point) string {
	switch p.Quantity {
	case Serial:
		return r.Serial
	case Model:
		return r.Model
	}
	return ""
}

// SetText stores a text at p and reports whether p is a text point.
func (r *Reading) SetText(p Point, s string) bool {
	switch p.Quantity {
	case Serial:
		r.Serial = s
	case Model:
		r.Model = s
	default:
		return false
	}
	return true
}

func (r *Reading) angleAt(p Point) *Maybe[Angle] {
	k := p.Channel()
	if k < 1 || k > len(r.Channels) {
		return nil
	}
	ch := &r.Channels[k-1]
	switch p.Quantity {
	case AngleOf:
		return &ch.Angle
	case VoltageAngle:
		return &ch.VoltageAngle
	case CurrentAngle:
		return &ch.CurrentAngle
	}
	return nil
}

func (r *Reading) valueAt(p Point) *Value {
	if k := p.Channel(); k > 0 {
		if k > len(r.Channels) {
			return nil
		}
		return r.Channels[k-1].valueAt(p.Quantity)
	}
	switch p.Quantity {
	case LineVoltage:
		return r.lineVoltageAt(p.Index)
	case Frequency:
		return &r.Frequency
	case TotalPower:
		return &r.TotalPower
	case TotalReactive:
		return &r.TotalReactive
	case TotalEnergyImport:
		return &r.TotalEnergyImport
	case TotalEnergyExport:
		return &r.TotalEnergyExport
	case TotalApparentEnergy:
		return &r.TotalApparentEnergy
	case CTPrimary:
		return &r.CTPrimary
	case NeutralCurrent:
		return &r.NeutralCurrent
	}
	return nil
}

func (r *Reading) lineVoltageAt(pair int) *Value {
	switch pair {
	case 12:
		return &r.LineVoltages[0]
	case 23:
		return &r.LineVoltages[1]
	case 31:
		return &r.LineVoltages[2]
	}
	return nil
}

func (c *Channel) valueAt(q Quantity) *Value {
	switch q {
	case Voltage:
		return &c.Voltage
	case Current:
		return &c.Current
	case Power:
		return &c.Power
	case Reactive:
		return &c.Reactive
	case Apparent:
		return &c.Apparent
	case PowerFactor:
		return &c.PowerFactor
	case EnergyImport:
		return &c.EnergyImport
	case EnergyExport:
		return &c.EnergyExport
	}
	return nil
}
