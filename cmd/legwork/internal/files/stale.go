package files

import (
	"fmt"
	"hash/fnv"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"time"
)

// prefix begins the names of temporary files. Machine and process follow, so
// that what a killed run left is told from what another writes just now.
const prefix = ".legwork-"

// old is when a temporary file is given up, whoever wrote it; our choice. Writing
// one takes a moment.
const old = time.Hour

func machine() string {
	name, _ := os.Hostname()
	sum := fnv.New32a()
	_, _ = sum.Write([]byte(name))
	return fmt.Sprintf("%08x", sum.Sum32())
}

// removeStale takes away what killed runs left in a folder, as far as it goes.
func removeStale(folder string) {
	all, _ := filepath.Glob(filepath.Join(globEscape(folder), prefix+"*"))
	for _, name := range all {
		if info, err := os.Lstat(name); err == nil && info.Mode().IsRegular() && stale(name, time.Since(info.ModTime())) {
			_ = os.Remove(name)
		}
	}
}

func stale(name string, age time.Duration) bool {
	parts := written.FindStringSubmatch(filepath.Base(name))
	if parts == nil || age > old {
		return parts != nil
	}
	pid, err := strconv.Atoi(parts[2])
	return parts[1] == machine() && err == nil && pid != os.Getpid() && !alive(pid)
}

// written is the name of a temporary file.
var written = regexp.MustCompile(`^\.legwork-(?:([0-9a-f]{8})-([0-9]+)-)?[0-9]+$`)

// globEscape has a folder's name taken as it is.
func globEscape(folder string) string {
	if os.PathSeparator == '\\' {
		return folder // there the backslash is no escape
	}
	return strings.NewReplacer(`\`, `\\`, `*`, `\*`, `?`, `\?`, `[`, `\[`).Replace(folder)
}
