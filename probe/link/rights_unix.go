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

// CheckKeyFile refuses a private key that its owner lets others read, as OpenSSH
// does (sshkey_perm_ok in authfile.c). Another's file, such as one that a group
// of the system's may read, is for its owner to look after. A file that can't be
// looked at is left to whoever reads it.
func CheckKeyFile(name string) error {
	info, err := os.Stat(name)
	if err != nil {
		return nil
	}
	stat, ok := info.Sys().(*syscall.Stat_t)
	if !ok || int(stat.Uid) != os.Getuid() || info.Mode().Perm()&0o077 == 0 {
		return nil
	}
	return fmt.Errorf("%s: others may read this key (mode %04o), so it is not used; chmod 600 %[1]s",
		name, info.Mode().Perm())
}

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
