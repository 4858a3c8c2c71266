package loadmodel

// Our choices, without a source. The figures after each are those of TestSensitivity: what
// halving, and then doubling, it does.
const (
	// The floor: panels unlike the usual ones. With it no rightly wired,
	// over-compensated panel was called faulty in a study of ours.
	floorShare = 0.04 // of panels; 0 0 -0.4 | +0.3 -0.1 +0.8
	floorAlike = 0.45 // of those: legs alike within about 10 degrees, anywhere within 90; -0.1 -0.2 +0.5 | +0.1 +0.1 -0.4
	floorApart = 0.45 // of those: each leg by itself, anywhere within 96; 0 -0.1 +0.2 | 0 0 -0.2
	sizeFloor  = 0.05 // panels whose sizes are any; none | +0.1 0 +0.1
	thirdFloor = 0.01 // panels with the third leg anywhere beside the others; none

	// Smoothing of what was drawn.
	narrowSmoothing = 3.0  // degrees: the errors of CTs and meters; 0 -0.1 -0.1 | +0.3 +0.2 +0.2
	wideSmoothing   = 13.0 // degrees: keeps the tails smooth; +0.1 0 -0.1 | +0.1 -0.1 +0.7
	wideShare       = 0.12 // of the wide one; +0.1 +0.1 -0.2 | +0.2 0 +0.1

	// A panel of heat alone.
	heatOnly   = 0.15 // of panels; none
	totalFloor = 0.05 // of those, whose total is any; none
	totalLag   = 1.0  // degrees: the middle of what heat has; none
	totalScat  = 1.5  // degrees about it; +0.2 +0.1 0 | 0 +0.1 -0.2

	// One-sided panels: banks stand 60 to 90 degrees ahead, dimmed lighting and idle UPS 15
	// to 60, idle motors 50 to 80 behind.
	leastLead  = 12.0 // degrees; none
	mostLead   = 90.0 // degrees; +0.1 0 +0.2 | 0 -0.1 +8.6
	leastLag   = 48.0 // degrees; 0 0 -0.2 | 0 0 +0.1
	mostLag    = 80.0 // degrees; 0 0 -0.1 | none
	lagShare   = 0.25 // of one-sided panels, that lag; +0.1 0 -0.1 | none
	leadSpread = 7.0  // degrees, of a leg about the panel's; +0.2 0 +0.6 | -0.2 -0.1 -0.2
	oneIn      = 4    // panels, whose legs are three times as far apart; -0.1 0 -0.2 | none
	bankShare  = 0.3  // of one-sided panels, that have a capacitor bank beside their loads; none | +0.1 0 -0.3
	leastBank  = 1.5  // the bank's current, of the loads' mean; none | +0.1 0 -0.2
	mostBank   = 8.0  // of the same; -0.1 0 0 | none

	// declaredShare is the share of declared kinds on a panel that is as declared: people
	// leave small things out. That the whole declaration is wrong is a world of its own.
	declaredShare = 0.9
)
