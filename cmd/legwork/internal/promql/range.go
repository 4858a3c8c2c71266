package promql

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"time"
)

// mostRange bounds what is taken of an answer to Range: a day of one meter is
// about 50 KB from each desk that read it.
const mostRange = 2 << 20

// Server is a server with the query API, whatever it keeps.
type Server struct{ url string }

// ParseServer takes promql+http://HOST:PORT, the form of a METER without a name.
func ParseServer(text string) (*Server, error) {
	u, err := url.Parse(text)
	if err != nil || !kept(u) || u.RawQuery != "" {
		return nil, errors.New("is not the address of a server, promql+http://HOST:PORT or promql+https://HOST:PORT")
	}
	return &Server{server(u, u.EscapedPath())}, nil
}

// Take is the label of Range's series that says what they are.
const Take = "take"

// What there is of a meter: its mean power a channel, how much of the step it
// answered, when it was read last, and the verdict at the end of the step.
const (
	Power   = "power"
	Up      = "up"
	Read    = "read"
	Verdict = "verdict"
)

// rangeQuery has the meter's matcher and the step for each series. Nothing in it
// asks for more than one sample a step, however often the server scrapes.
const rangeQuery = `label_replace(avg_over_time(legwork_power_watts{%[1]s}[%[2]s]), "take", "power", "", "")` +
	` or label_replace(avg_over_time(legwork_meter_up{%[1]s}[%[2]s]), "take", "up", "", "")` +
	` or label_replace(last_over_time(legwork_reading_timestamp_seconds{%[1]s}[%[2]s]), "take", "read", "", "")` +
	` or label_replace(last_over_time(legwork_verdict{%[1]s}[%[2]s]) == 1, "take", "verdict", "", "")`

// Range gives what the server keeps of a meter: one sample for each step that
// ends at from+step, from+2*step and so on up to to.
func (s *Server) Range(ctx context.Context, client *http.Client, meter string, from, to time.Time,
	step time.Duration) ([]Series, error) {
	each := fmt.Sprintf("%ds", int(step.Seconds()))
	return post(ctx, client, s.url+"/api/v1/query_range", mostRange, url.Values{
		"query": {fmt.Sprintf(rangeQuery, "meter="+quote(meter), each)},
		"start": {seconds(from.Add(step))}, "end": {seconds(to)}, "step": {each}})
}
