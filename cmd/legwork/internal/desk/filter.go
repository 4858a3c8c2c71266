package desk

import (
	"cmp"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"legwork/cmd/legwork/internal/survey"
)

// pageSize is how many rows a page has.
const pageSize = 200

// filter is what an address asks for: all of it is in the query, so that a view
// can be sent to someone else.
type filter struct {
	Text   string // in name, site or summary, in any case
	Status string
	Site   string
	Sort   string // name, status, or by lost power
	Page   int    // from 1
}

func filterOf(q url.Values) filter {
	f := filter{Text: q.Get("q"), Status: q.Get("status"), Site: q.Get("site"), Sort: q.Get("sort"), Page: 1}
	if n, err := strconv.Atoi(q.Get("page")); err == nil && n > 0 {
		f.Page = n
	}
	return f
}

// all reports that nothing is left out.
func (f *filter) all() bool { return f.Text == "" && f.Status == "" && f.Site == "" }

func (f *filter) takes(m *survey.Meter) bool {
	if f.Status != "" && string(m.Status) != f.Status || f.Site != "" && m.Site != f.Site {
		return false
	}
	if f.Text == "" {
		return true
	}
	text := strings.ToLower(f.Text)
	return strings.Contains(strings.ToLower(m.Name), text) || strings.Contains(strings.ToLower(m.Site), text) ||
		strings.Contains(strings.ToLower(m.Summary), text)
}

func (f *filter) sort(all []survey.Meter) {
	switch f.Sort {
	case "name":
		slices.SortStableFunc(all, func(a, b survey.Meter) int { return strings.Compare(a.Name, b.Name) })
	case "status":
		slices.SortStableFunc(all, func(a, b survey.Meter) int {
			return cmp.Or(cmp.Compare(survey.Urgency[a.Status], survey.Urgency[b.Status]), strings.Compare(a.Name, b.Name))
		})
	default:
		survey.Rank(all)
	}
}

// query is the address of the same view on another page.
func (f filter) query(page int) string {
	q := url.Values{}
	for name, v := range map[string]string{"q": f.Text, "status": f.Status, "site": f.Site, "sort": f.Sort} {
		if v != "" {
			q.Set(name, v)
		}
	}
	if page > 1 {
		q.Set("page", strconv.Itoa(page))
	}
	return q.Encode()
}
