package desk

import (
	"encoding/json"
	"fmt"
	"net/http"
	"time"

	"legwork/cmd/legwork/internal/sites"
	"legwork/cmd/legwork/internal/survey"
)

// serveMeters is the JSON of `survey`, as things are now. Verdicts are made
// anew, meter by meter, and written as they come: whole they would not fit.
func (d *Desk) serveMeters(w http.ResponseWriter, r *http.Request) {
	meters := d.surveyed(r)
	d.mu.Lock()
	list := &sites.List{Sites: d.list.Sites}
	d.mu.Unlock()
	o := survey.Result{At: time.Now(), Complete: true, Listed: len(list.Sites), Meters: meters}
	if f := filterOf(r.URL.Query()); !f.all() {
		survey.Finish(&o, nil)
	} else {
		survey.Finish(&o, list)
	}
	w.Header().Set("Content-Type", "application/json")
	tell := func(name string, v any) bool {
		text, err := json.Marshal(v)
		if err == nil {
			_, err = fmt.Fprintf(w, "%q:%s,", name, text)
		}
		return err == nil
	}
	_, _ = fmt.Fprint(w, "{")
	_ = tell("legwork", o.Legwork) && tell("at", o.At) && tell("complete", o.Complete) && tell("listed", o.Listed) &&
		tell("counts", o.Counts) && tell("sites", o.Sites) && tell("balances", o.Balances)
	_, _ = fmt.Fprint(w, `"meters":[`)
	for i := range o.Meters {
		if r.Context().Err() != nil {
			return
		}
		one := o.Meters[i]
		if m := d.find(one.Name); m != nil && one.Status != survey.Unreadable {
			one = m.whole()
		}
		text, err := json.Marshal(one)
		if err != nil {
			return
		}
		if i > 0 {
			text = append([]byte(","), text...)
		}
		if _, err := w.Write(text); err != nil {
			return
		}
	}
	_, _ = fmt.Fprint(w, "]}\n")
}

// surveyed are the meters that a query asks for, without their verdicts.
func (d *Desk) surveyed(r *http.Request) []survey.Meter {
	f := filterOf(r.URL.Query())
	out := []survey.Meter{}
	for _, m := range d.all() {
		if s := m.brief(); f.takes(&s) {
			out = append(out, s)
		}
	}
	return out
}
