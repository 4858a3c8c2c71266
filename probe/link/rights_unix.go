//go:build unix

package link

import (
	"fmt"
	"os"
	"os/user"
	"strconv"
	"syscall"
	"time"
)

// leastWait is the shortest wait that this system keeps.
const leastWait = 50 * time.Microsecond

// rights says how a user comes to a port: by the group that owns it.
func rights(port string) string {
	const otherwise = "ask whoever looks after this computer"
	info, err := os.Stat(port)
	if err != nil {
		return otherwise
	}
	stat, ok := info.Sys().(*syscall.Stat_t)
	if !ok || info.Mode().Perm()&0o060 != 0o060 {
		return otherwise
	}
	group, err := user.LookupGroupId(strconv.FormatUint(uint64(stat.Gid), 10))
	if err != nil {
		return otherwise
	}
	return fmt.Sprintf("add them to the group %s: sudo usermod -aG %s $USER, then log in again", group.Name, group.Name)
}
