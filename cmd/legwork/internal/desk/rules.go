package desk

import _ "embed" // the rules

//go:embed rules.yaml
var rules string

// Rules are alerting rules for the metrics, YAML.
func Rules() string { return rules }
