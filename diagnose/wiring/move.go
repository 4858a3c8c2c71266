package wiring

// Move is one way to make the wiring right. LiveWork is false only when every
// conductor within reach can be dead for the step.
type Move struct {
	Steps    []string `json:"steps"`
	LiveWork bool     `json:"live_work"`
}

// KeepAway is all that is to be done while the service's neutral may be lost.
func KeepAway() []string {
	return []string{
		"Stop: keep away from the panel and switch nothing; a lost neutral of the service destroys loads",
		"Tell those answerable for the supply",
	}
}
