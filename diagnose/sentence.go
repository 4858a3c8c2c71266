package diagnose

import (
	"fmt"
	"strings"
)

// percent rounds a probability so that it never reads as certain.
func percent(p float64) string {
	switch {
	case p >= 0.9995:
		return "over 99.9 %"
	case p >= 0.99:
		return fmt.Sprintf("%.1f %%", p*100)
	case p < 0.01:
		return "under 1 %"
	}
	return fmt.Sprintf("%.0f %%", p*100)
}

func sentence(s string) string { return strings.ToUpper(s[:1]) + s[1:] }
