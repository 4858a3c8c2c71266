package main

import "fmt"

// welcome says what to do first.
func (a *app) welcome() error {
	_, err := fmt.Fprint(a.stdout, `legwork says whether a meter's CTs and voltage inputs are wired right.

  legwork diagnose sim:kiln-house                     try it on the simulator
  legwork diagnose tcp://HOST/UNIT --map FILE.yaml    judge a meter
  legwork read METER --every 1s --save FILE.jsonl     watch it, and keep what it says

A register map says which registers hold what: legwork map check FILE.yaml
Everything else: legwork --help
`)
	return err
}
