package main

import (
	"context"
	"time"

	"legwork/cmd/legwork/internal/keep"
	"legwork/cmd/legwork/internal/record"
	"legwork/cmd/legwork/internal/watch"
)

// wordKeeper puts what is said at the screen into a record, each as it is said.
type wordKeeper struct {
	ctx  context.Context
	into *keep.Keeper
	last keep.Kept
}

// hook is for a session; nil where nothing is to be kept.
func (w *wordKeeper) hook() func(watch.Word) (int, error) {
	if w.into == nil {
		return nil
	}
	return w.keep
}

func (w *wordKeeper) keep(word watch.Word) (int, error) {
	e := record.Entry{Kind: record.Note}
	switch {
	case word.Step != nil:
		e = stepEntry(word.Step)
	case word.Move != "":
		e.Moves = []string{word.Move}
	default:
		e.Tests = []string{word.Test}
	}
	w.into.Wait = record.Wait{Most: time.Second} // the screen waits meanwhile
	added := w.into.Add(w.ctx, e)
	if added.Err == nil {
		w.last = added
	}
	return added.Number, added.Err
}

// tell says below the screen which entry was the last.
func (w *wordKeeper) tell(a *app) error {
	if w.last.File == "" {
		return nil
	}
	return a.tellEntry(a.stdout, w.last)
}
