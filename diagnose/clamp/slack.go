package clamp

import "legwork/probe/reading"

// What a right channel may be off by before it counts: the largest ratio error
// of a CT of class 1 (3 % at 5 % of its rating, IEC 61869-2, Table 201), and of
// a voltage input (common practice, no source).
const (
	currentSlack = 0.03
	voltageSlack = 0.01
)

// driftSlack is what an ordinary load may do between the instrument's reading and the
// meter's, as a share: so much is no wrong ratio, since neighbouring ratings are a fifth
// apart or more. Our choice, no source.
const driftSlack = 0.12

// slackOf is that of a comparison's quantity.
func slackOf(c Compared) float64 {
	if c.Quantity == reading.Voltage.String() {
		return voltageSlack
	}
	return currentSlack
}
