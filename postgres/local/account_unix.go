//go:build unix

package local

import (
	"bufio"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"os/user"
	"strconv"
	"strings"
	"syscall"
)

// serverAccount chooses the user to run the server as: ourselves, or for root the first of the usual unprivileged ones.
func serverAccount() (account, error) {
	if os.Geteuid() != 0 {
		return account{}, nil
	}
	for _, name := range append([]string{"postgres", "nobody", "daemon"}, listedUsers()...) {
		if found, err := user.Lookup(name); err == nil {
			uid, uidErr := strconv.Atoi(found.Uid)
			gid, gidErr := strconv.Atoi(found.Gid)
			if uidErr == nil && gidErr == nil && uid != 0 {
				return account{name: name, uid: uid, gid: gid, other: true}, nil
			}
		}
	}
	return account{}, errors.New("local: PostgreSQL refuses to run as root, and this machine has no other user: add one called postgres")
}

// listedUsers reads the names in the machine's own list of users, the last resort.
func listedUsers() []string {
	file, err := os.Open("/etc/passwd")
	if err != nil {
		return nil
	}
	defer file.Close()
	var names []string
	for lines := bufio.NewScanner(file); lines.Scan(); {
		if name, _, ok := strings.Cut(lines.Text(), ":"); ok {
			names = append(names, name)
		}
	}
	return names
}

// ownerAccount is the user a data directory belongs to. It must be the one that ran it before, even if another would be
// chosen today.
func ownerAccount(path string) (account, error) {
	uid, gid, err := ownerOf(path)
	if err != nil {
		return account{}, err
	}
	switch {
	case uid == os.Geteuid() && uid != 0:
		return account{}, nil
	case os.Geteuid() != 0 || uid == 0:
		return account{}, fmt.Errorf("%w: %s belongs to the user with the number %d", ErrNotOurs, path, uid)
	}
	as := account{name: strconv.Itoa(uid), uid: uid, gid: gid, other: true}
	if found, err := user.LookupId(as.name); err == nil {
		as.name = found.Username
	}
	return as, nil
}

func ownerOf(path string) (uid, gid int, err error) {
	info, err := os.Lstat(path)
	if err != nil {
		return 0, 0, err
	}
	stat, ok := info.Sys().(*syscall.Stat_t)
	if !ok {
		return 0, 0, fmt.Errorf("local: the owner of %s is unknown", path)
	}
	return int(stat.Uid), int(stat.Gid), nil
}

// isOurs says whether a directory was made by the user we are.
func isOurs(path string) bool {
	uid, _, err := ownerOf(path)
	return err == nil && uid == os.Geteuid()
}

// attributes makes a process run as the account and apart from our terminal, whose Ctrl-C would stop it before us.
func (a account) attributes() *syscall.SysProcAttr {
	attributes := &syscall.SysProcAttr{Setsid: true}
	if a.other {
		attributes.Credential = &syscall.Credential{Uid: uint32(a.uid), Gid: uint32(a.gid)} //nolint:gosec // the system gave them, as numbers of 32 bits
	}
	return attributes
}

// own hands a file or directory over to the account.
func (a account) own(path string) error {
	if !a.other {
		return nil
	}
	return os.Lchown(path, a.uid, a.gid)
}

// reaches checks that the account can get into a directory. Only trying it out takes everything into account that may
// stand in the way: a parent like root's home, an access list, a mount's options.
func (a account) reaches(dir string) error {
	if !a.other {
		return nil
	}
	cmd := exec.Command("/bin/sh", "-c", `cd "$1"`, "sh", dir)
	cmd.Dir, cmd.SysProcAttr = "/", a.attributes()
	if err := cmd.Run(); err != nil {
		return fmt.Errorf("local: %s, which runs the server, can't enter %s: make each directory above it searchable for others (chmod o+x), or choose another place", a, dir)
	}
	return nil
}
