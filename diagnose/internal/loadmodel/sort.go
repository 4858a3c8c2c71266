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

// leads are the kinds that may make a whole panel one-sided.
const leads = Lighting | Electronics | Capacitors | Motors

// MayLean reports a declaration that has a one-sided panel among its ordinary ones.
func (k Kinds) MayLean() bool { return k&leads != 0 }

// kindsOf says which of loadKinds a declared kind is.
var kindsOf = [...]struct {
	declared Kinds
	kind     int
}{{Heating, heat}, {Lighting, light}, {Electronics, light}, {Drives, light}, {Motors, running}, {Motors, idling}, {Capacitors, bank}}

// declaredShare is how far a declaration is believed: people leave things out. With
// it taken whole, 'lighting' said of capacitors made one verdict in ten wrong in a
// study of ours.
const declaredShare = 0.5

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
