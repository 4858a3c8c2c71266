package loadmodel

// Sort is what a panel's loads are taken to be: a world of load angles of its own.
// The zero Sort is any ordinary mixture.
type Sort struct {
	Panel    Panel
	Declared Kinds // what a person said is behind the meter; 0 for nothing said
}

// Panel is a kind of panel.
type Panel uint8

// The panels. On an exporting one inverters give back power, beside ordinary loads;
// on a one-sided one every leg leads, by a capacitor bank, dimmed lighting or a lightly
// loaded UPS, or lags far, by idle motors.
const (
	Ordinary Panel = iota
	Exporting
	OneSided
)

// Loads is the sort of the panel's loads: an exporting one has ordinary loads.
func (s Sort) Loads() Sort {
	if s.Panel == Exporting {
		s.Panel = Ordinary
	}
	return s
}

// Kinds is a set of kinds of load.
type Kinds uint8

// The kinds that a person may declare.
const (
	Heating Kinds = 1 << iota
	Lighting
	Electronics
	Drives
	Motors
	Capacitors
)

// Leaning are the kinds that make a whole panel one-sided where nothing else is on it:
// it leads by the first, and lags by motors.
const (
	Leading = Lighting | Electronics | Capacitors
	Leaning = Leading | Motors
)

// MayLead reports a declaration among whose panels are some that lead on every leg: one
// of leading loads alone, or any with a capacitor bank.
func (k Kinds) MayLead() bool { return k&Capacitors != 0 || k != 0 && k&^Leading == 0 }

// banks reports that there may be a capacitor bank.
func (k Kinds) banks() bool { return k == 0 || k&Capacitors != 0 }

// MayLean reports one among whose panels are some that lead, or lag far, on every leg.
func (k Kinds) MayLean() bool { return k.MayLead() || k == Motors }

// kindsOf says which of loadKinds a declared kind is.
var kindsOf = [...]struct {
	declared Kinds
	kind     int
}{{Heating, heat}, {Lighting, light}, {Electronics, light}, {Drives, light}, {Motors, running}, {Motors, idling}, {Capacitors, bank}}

// shares are those of the kinds of load, as the model has them and as declared.
func (s Sort) shares() (shares, three [kinds]float64) {
	var sum, sumThree, of, ofThree float64
	declared := [kinds]bool{}
	for _, d := range kindsOf {
		declared[d.kind] = declared[d.kind] || s.Declared&d.declared != 0
	}
	for i, k := range loadKinds {
		sum, sumThree = sum+k.share, sumThree+k.three
		if declared[i] {
			of, ofThree = of+k.share, ofThree+k.three
		}
	}
	for i, k := range loadKinds {
		shares[i], three[i] = k.share/sum, k.three/sumThree
		if of == 0 {
			continue
		}
		shares[i], three[i] = shares[i]*(1-declaredShare), three[i]*(1-declaredShare)
		if declared[i] {
			shares[i] += declaredShare * k.share / of
			three[i] += declaredShare * k.three / ofThree
		}
	}
	return shares, three
}
