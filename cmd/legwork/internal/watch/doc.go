// Package watch follows one meter while someone works on its wiring: it folds
// every reading into a verdict, sees loads come and go, leads a load step, and
// shows all of it on one screen that changes as they work, or as lines.
//
// A Session knows what there is to know and draws nothing; a Model is the
// screen in the terminal. Time comes in with readings and messages, so that
// both can be tested without waiting. Nothing grows with the time watched: the
// last 500 events are kept, and of the readings only what diagnose keeps.
//
// It takes a change of the wiring for what it is only where the readings show
// it plainly (rival.go); a person can always say so.
package watch
