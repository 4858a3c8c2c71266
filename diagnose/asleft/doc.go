// Package asleft holds what a meter reads after the wiring was put right against what
// was predicted. "As predicted" is a question of probability: whether the right wiring
// would read like this once the load has drifted as loads do, against every other wiring.
package asleft
