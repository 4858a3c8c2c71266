package promql

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"
)

// mostAnswer bounds what is taken of an answer: a day of one meter is about 4 MB.
const mostAnswer = 256 << 20

// Series is one series with its samples.
type Series struct {
	Metric map[string]string `json:"metric"`
	Values []Sample          `json:"values"`
}

// Sample is [seconds, "value"].
type Sample struct {
	At    int64 // ms since 1970
	Value string
}

// UnmarshalJSON reads the pair.
func (s *Sample) UnmarshalJSON(b []byte) error {
	var seconds json.Number
	pair := []any{&seconds, &s.Value}
	if err := json.Unmarshal(b, &pair); err != nil {
		return err
	}
	x, err := seconds.Float64()
	s.At = int64(x*1000 + 0.5)
	return err
}

// Number is the value; false where it is none, or not finite.
func (s *Sample) Number() (float64, bool) {
	x, err := strconv.ParseFloat(s.Value, 64)
	return x, err == nil && !math.IsNaN(x) && !math.IsInf(x, 0)
}

// reply is what the API gives (Prometheus HTTP API, instant queries).
type reply struct {
	Status string `json:"status"`
	Error  string `json:"error"`
	Data   struct {
		Type   string   `json:"resultType"`
		Result []Series `json:"result"`
	} `json:"data"`
}

// ask puts the question: all of a meter's series over a range that ends at an instant.
func (a *Address) ask(ctx context.Context, client *http.Client, now time.Time) ([]Series, error) {
	from, to := a.From.on(now), a.To.on(now)
	return post(ctx, client, a.Server+"/api/v1/query", mostAnswer, url.Values{"time": {seconds(to)},
		"query": {fmt.Sprintf(`{__name__=~"legwork_.+",meter=%s}[%dms]`, quote(a.Meter), to.Sub(from).Milliseconds())}})
}

// seconds writes an instant as the API takes it.
func seconds(t time.Time) string { return strconv.FormatFloat(float64(t.UnixMilli())/1000, 'f', 3, 64) }

// post sends a form, and takes at most so many bytes of the answer.
func post(ctx context.Context, client *http.Client, to string, most int64, form url.Values) ([]Series, error) {
	r, err := http.NewRequestWithContext(ctx, http.MethodPost, to, strings.NewReader(form.Encode()))
	if err != nil {
		return nil, err
	}
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	answer, err := client.Do(r)
	if err != nil {
		return nil, plain(err)
	}
	defer answer.Body.Close()
	all, err := decode(io.LimitReader(answer.Body, most))
	if err != nil && !errors.As(err, new(refusal)) && answer.StatusCode != http.StatusOK {
		return nil, fmt.Errorf("the server answers %s; is this the address of its query API?", answer.Status)
	}
	return all, err
}

// refusal is what the server itself says is wrong.
type refusal string

func (r refusal) Error() string { return "the server says: " + string(r) }

// decode reads an answer.
func decode(r io.Reader) ([]Series, error) {
	var got reply
	err := json.NewDecoder(r).Decode(&got)
	switch {
	case got.Status == "error":
		return nil, refusal(strings.Join(strings.Fields(got.Error), " "))
	case err != nil:
		return nil, fmt.Errorf("the answer is not that of a query API: %w", err)
	case got.Data.Type != "matrix":
		return nil, fmt.Errorf("the answer holds a %q, not a range", got.Data.Type)
	}
	return got.Data.Result, nil
}

// quote makes a string of PromQL, in which escapes are those of Go.
func quote(s string) string { return strconv.Quote(s) }

// plain takes the address out of an error, which may hold a password.
func plain(err error) error {
	if of, ok := errors.AsType[*url.Error](err); ok {
		return of.Err
	}
	return err
}
