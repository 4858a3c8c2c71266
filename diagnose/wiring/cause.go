package wiring

// Cause says what an explanation blames, and so who acts.
type Cause string

// The causes.
const (
	ByWiring     Cause = "wiring"     // conductors or CTs; an electrician
	ByService    Cause = "service"    // another service than the declared one; whoever typed it
	ByMap        Cause = "map"        // the register map misreads the meter; whoever wrote it
	BySettings   Cause = "settings"   // a ratio or polarity set in the meter; whoever programmed it
	ByGeneration Cause = "generation" // power flows back to the supply; nobody
	ByLoad       Cause = "load"       // an unusual load; nobody
)
