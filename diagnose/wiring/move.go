package wiring

// Move is one way to make the wiring right. LiveWork is false only when every
// conductor within reach can be dead for the step.
type Move struct {
	Steps    []string `json:"steps"`
	LiveWork bool     `json:"live_work"`
}
