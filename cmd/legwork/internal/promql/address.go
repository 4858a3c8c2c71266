package promql

import (
	"fmt"
	"net/url"
	"strconv"
	"strings"
	"time"
)

// Address says where a meter's readings are kept: promql+http://HOST:PORT/NAME?from=-24h&to=now.
type Address struct {
	Server   string // http://HOST:PORT, with user and password where they are given
	Meter    string
	From, To Instant
}

// Instant is a time, or one before now.
type Instant struct {
	At  time.Time
	Ago time.Duration // where At is zero
}

// on gives the time, seen from now.
func (i Instant) on(now time.Time) time.Time {
	if !i.At.IsZero() {
		return i.At
	}
	return now.Add(-i.Ago)
}

// forms is what an address that is none is answered with.
const forms = "write promql+http://HOST:PORT/NAME?from=-24h&to=now"

// day is what is read where nothing is said.
const day = 24 * time.Hour

// ParseAddress takes one apart. What the path has before the name is the path of
// the server.
func ParseAddress(text string) (Address, error) {
	u, err := url.Parse(text)
	if err != nil || !kept(u) {
		return Address{}, fmt.Errorf("%q: %s", text, forms)
	}
	path := strings.Trim(u.EscapedPath(), "/")
	cut := strings.LastIndex(path, "/") + 1
	name, err := url.PathUnescape(path[cut:])
	if err != nil || name == "" {
		return Address{}, fmt.Errorf("%q names no meter; %s", text, forms)
	}
	a := Address{Meter: name, From: Instant{Ago: day}, Server: server(u, path[:cut])}
	q, err := url.ParseQuery(u.RawQuery)
	if err != nil {
		return Address{}, fmt.Errorf("%q: %s", text, forms)
	}
	for key, v := range q {
		into := map[string]*Instant{"from": &a.From, "to": &a.To}[key]
		if into == nil {
			return Address{}, fmt.Errorf("%q: %q is not known here; there are from and to", text, key)
		}
		if *into, err = parseInstant(v[len(v)-1]); err != nil {
			return Address{}, fmt.Errorf("%q: %s: %w", text, key, err)
		}
	}
	if now := time.Now(); !a.From.on(now).Before(a.To.on(now)) {
		return Address{}, fmt.Errorf("%q: from is not before to", text)
	}
	return a, nil
}

// kept reports that an address is one of a server with the query API.
func kept(u *url.URL) bool {
	return (u.Scheme == "promql+http" || u.Scheme == "promql+https") && u.Host != "" && u.Fragment == ""
}

// server is the address of a server with the query API.
func server(u *url.URL, path string) string {
	s := url.URL{Scheme: strings.TrimPrefix(u.Scheme, "promql+"), User: u.User, Host: u.Host}
	return s.String() + strings.TrimSuffix("/"+strings.Trim(path, "/"), "/")
}

func parseInstant(text string) (Instant, error) {
	if text == "now" || text == "" {
		return Instant{}, nil
	}
	if at, err := time.Parse(time.RFC3339, text); err == nil {
		return Instant{At: at}, nil
	}
	if s, err := strconv.ParseInt(text, 10, 64); err == nil && s > 0 {
		return Instant{At: time.Unix(s, 0)}, nil
	}
	if ago, ok := strings.CutPrefix(text, "-"); ok {
		if d, err := parseDuration(ago); err == nil {
			return Instant{Ago: d}, nil
		}
	}
	return Instant{}, fmt.Errorf("%q is not a time such as -24h, now or 2026-05-04T09:30:00Z", text)
}

// parseDuration also takes days.
func parseDuration(text string) (time.Duration, error) {
	if days, ok := strings.CutSuffix(text, "d"); ok {
		n, err := strconv.ParseFloat(days, 64)
		if err != nil || !(n >= 0 && n < 36500) {
			return 0, fmt.Errorf("%q is no number of days", text)
		}
		return time.Duration(n * float64(day)), nil
	}
	return time.ParseDuration(text)
}
