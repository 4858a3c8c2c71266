package screen

import "legwork/diagnose"

// KeepAwayHead stands over what is to be done, on every screen and page, while the
// service's neutral may be lost: it is a danger, and no work on the wiring.
const KeepAwayHead = "DANGER: the neutral of the service may be lost"

// KeepAway lists what is to be done then; nothing where that isn't so.
func KeepAway(r *diagnose.Result) []string {
	if !r.KeepAway {
		return nil
	}
	for _, x := range r.Explanations {
		if len(x.Moves) > 0 {
			return x.Moves[0].Steps
		}
	}
	return r.Cautions[:min(1, len(r.Cautions))]
}
