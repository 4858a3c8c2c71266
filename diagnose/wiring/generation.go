package wiring

// Generation is what a person declares of solar, batteries and generators. The zero
// value is unknown, too.
type Generation string

// What may be declared.
const (
	GenerationUnknown  Generation = "unknown"
	GenerationNone     Generation = "none"
	GenerationPossible Generation = "possible" // power may flow back to the supply
)
