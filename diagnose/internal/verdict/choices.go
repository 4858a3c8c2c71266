package verdict

// Our choices, without a source. The figures after each are those of TestSensitivity: what
// halving, and then doubling, it does.
const (
	// Priors of worlds.
	exportUnknown  = 0.05   // power flows back, where nothing was said of generation; -0.6 +0.2 -1.4 | +0.5 -0.2 +2.3
	exportNone     = 0.0008 // the same, where none was declared
	exportPossible = 0.45   // the same, where it was declared possible
	tireless       = 0.1    // of panels with generation, those that give back power at all hours, by wind, storage or an engine; of a day reversed, named: none | -2.2
	leadUnknown    = 0.04   // a one-sided panel, where nothing was said of loads; -0.2 0 -0.7 | +0.3 -0.1 +2.4
	leadUnlikely   = 0.02   // the same by other loads than were declared
	leadLikely     = 0.35   // the same, where a load that leads was declared
	lagLikely      = 0.15   // the same, where motors alone were declared
	otherLoads     = 0.15   // other loads than were declared, where any were

	// What is weighed, and when.
	plainShare = 0.97 // right wiring in the ordinary world, from which on no other is weighed; none
	// LeadDegrees is the lead of every leg from which on a panel is one that leads.
	LeadDegrees = 15.0

	// What holds a verdict back. MostHarm is the probability, of all worlds together in
	// which a move would be wrong, from which on none is advised and the question that
	// settles it comes first: with it a wrong wiring was called on less than 1 % of exporting
	// panels in a study of ours.
	MostHarm         = 0.02
	mostExport       = 0.045 // the same of export alone: all CTs reversed is the commoner by far; 0 0 +1.6 | 0 +0.1 -0.8
	mostNeutral      = 0.02  // a CT on the neutral, that right wiring may have beside it; 0 -0.3 +1.1 | 0 +0.3 -0.8
	mostNeutralFault = 0.04  // the same of another fault, which is looked at before a move; 0 -0.1 +0.6 | 0 0 -0.3

	// Danger. NeutralDanger is the probability of a lost neutral from which on nothing is
	// advised but to keep away: low, since the loss is dear.
	NeutralDanger = 0.1
	mistakenVolts = 0.9   // a wrong map, above which voltages say nothing of a lost neutral; none
	levelOff      = 0.2   // of the legs' mean voltage, that a lost neutral may move it; none
	leastOpen     = 0.005 // that the meter's neutral lead is open, from which on it is spoken of
	openBelow     = 0.1   // A, under which a CT may be open: under any load, above a meter's noise; none

	// Settings. The rest is a core that isn't closed, a slip of the clamp, or a neutral
	// that was read at another instant.
	settingsLikely   = 0.93  // a wrong ratio, where two ratings, or clamp and meter, disagree
	neutralLikely    = 0.6   // the same by the neutral's current alone
	ratingsApart     = 1.02  // ratio of two ratings from which on they disagree
	ratioFit         = 0.04  // how near, as a share, a factor must come to a step of ratings
	mostContradicted = 0.5   // arrangements that a clamp contradicts, from which on it does
	overPrior        = 0.005 // a rating or a scale set wrong, and read so
	overSpread       = 0.35  // of the logarithm of a current over the CT's rating, beyond one
	overMost         = 12.0  // nats that a current over it says at most
	worthAsking      = 0.02  // share of a choice of candidates that must agree
)
