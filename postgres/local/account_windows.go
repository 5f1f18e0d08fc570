package local

import (
	"os"
	"syscall"
)

// On Windows the server runs as the user we are, and gives up an administrator's rights by itself.

func serverAccount() (account, error)      { return account{}, nil }
func ownerAccount(string) (account, error) { return account{}, nil }
func (a account) own(string) error         { return nil }
func (a account) reaches(string) error     { return nil }
func (a account) attributes() *syscall.SysProcAttr {
	return &syscall.SysProcAttr{CreationFlags: syscall.CREATE_NEW_PROCESS_GROUP, HideWindow: true}
}

// isOurs leaves the question to the file system's own rights.
func isOurs(path string) bool {
	_, err := os.Lstat(path)
	return err == nil
}
