package infer

// Our choices, without a source. The figures after each are those of TestSensitivity: what
// halving, and then doubling, it does.
const (
	// The shares of changes of load; those of single loads are in mixes. Both, several and
	// anything are kept small, since many loads at once explain every change.
	stepBoth     = 0.03 // two loads at once; none | 0 0 +0.1
	stepSeveral  = 0.02 // several that leave a leg or the neutral as it was; 0 0 -0.1 | none
	stepAnything = 0.01 // anything; none
	leanShare    = 0.5  // how far the angle of a leg's change by many loads is a load's; none | -0.1 0 +0.1
	stepOn       = 0.55 // a load is a little likelier to be seen coming on than going off; none | 0 0 +0.3
	oddLoad      = 0.2  // single loads at any angle at all: an odd one must not mislead; 0 0 -0.1 | -0.2 0 +0.5

	calmShare = 0.5  // of changes of load, beside which the other loads are calm; none
	calmNoise = 0.15 // of the usual noise then: what the readings themselves are off by; none | -0.1 0 0

	// stepSizeDensity takes sizes of a step to be as likely in every octave from 0.1 to
	// 1000 A: 1 / ln(10^4) per unit of the logarithm.
	stepSizeDensity = 1 / 9.21

	// States of the load beside each other.
	stateDamping = 0.75 // power of their number by which each counts less
	oddState     = 1e-6 // share of the best one's weight that any state has at least

	// Where angles rest on V, I and P alone.
	signlessNoise = 0.2   // of a change of the reactive current, that may be distortion; none
	signlessRest  = 0.005 // of the reactive current that was there before; none
	signStays     = 0.9   // the sign of an angle, from one state to the next; none
	priorUnsigned = 0.06  // reactive registers without a sign whose map doesn't say so; none

	// Two CTs on one conductor, and loads that read like it.
	ratioSpread     = 0.02 // of ln(current / current) on one conductor; +0.1 0 0 | -0.2 0 -0.1
	ratioDensity    = 0.45 // of the same between any two legs, near equality; 0 0 +0.7 | +0.1 0 -0.2
	coincidentAngle = 2.5  // degrees, between the angles of one conductor's two CTs; +0.1 0 0 | 0 0 +0.2
	oneLoadOdds     = 0.02 // panels with one load alone between two legs; none | 0 0 +0.2
	balancedOdds    = 0.08 // panels with balanced three-phase loads alone; -0.1 0 -0.2 | +0.1 0 +0.2

	// Power that flows back.
	leastExport = 0.2  // of the loads' power; -0.1 +0.1 -0.6 | +0.3 0 +0.8
	exportVars  = 0.06 // of what generates, that gives or takes vars; none | -0.1 +0.1 +0.2
	mostExport  = 4.0  // of the same; -1.9 +0.5 -1.9 | -0.1 +0.1 -0.4

	// A CT on the neutral.
	hiddenHarmonics = 0.15 // of a current, below which its harmonics don't show; +0.2 -0.1 0 | -0.1 +0.1 +0.1
	harmonicSpread  = 0.9  // of ln H; +0.2 -0.1 +0.1 | -0.1 0 +0.3
	neutralBare     = 0.1  // neutrals without harmonics, where other channels have some; none
	legBare         = 0.4  // legs of the same; none | +0.2 -0.1 +0.9

	// A register of the neutral's current; the rest holds something else.
	neutralMeasured   = 0.1   // that a CT on the neutral feeds; none
	neutralComputed   = 0.75  // that is the sum of the channels; none
	neutralSlack      = 0.012 // of a channel's current, by its error in size and angle; none
	leastNeutralSlack = 0.2   // A, beside it; none

	// What a person's tests say.
	findingError  = 0.02 // tests misread or mistyped, as any other of the answers; none
	unnamed       = 0.1  // people who name one channel that took a load leave out another; none
	findingsApart = 3.0  // ratio of probabilities from which on tests part what reads alike; none
	// ClampSlack is what a clamp and a CT may be off by together: common practice, no source.
	ClampSlack = 0.08

	// What isn't followed, or told apart.
	leastCandidate      = 0.2   // share of an angle's candidates; 0 -0.1 +0.6 | 0 +0.1 -0.5
	leastGroup          = 0.002 // share of a group, and of one of its members; none
	sequenceShare       = 0.98  // share of one sequence at which it counts as known; none
	leastVarsPrior      = 0.03  // of an arrangement, from which on what generates may give it vars: they cost most; not measured
	leastExportPrior    = 1e-3  // prior, where power flows back: it costs the most time; none | +0.1 0 -0.1
	leastPrior          = 1e-6  // prior with the voltages' share: no density makes up for it; none
	leastNeutralWeighed = 3e-5  // weight, before the neutral's current is weighed; not measured
	leastNeutral        = 1e-8  // of the likeliest weight, before the leg without a CT is looked at; none
)

// mix is how a panel's single loads are connected: on one leg, between two, on three.
type mix struct {
	of              float64 // panels
	one, two, three float64 // changes of load
}

// mixes are the sorts of panels: what most loads of one are, its others are likelier to be
// too. Where a service has two legs, its loads are on one or between them. Our choice;
// what halving does isn't measured.
var mixes = [...]mix{
	{0.4, 0.55, 0.2, 0.19},
	{0.2, 0.8, 0.08, 0.06},
	{0.2, 0.2, 0.66, 0.08},
	{0.2, 0.2, 0.08, 0.66},
}
