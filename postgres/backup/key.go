package backup

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"filippo.io/age"
)

// Keys say for whom a backup is encrypted. Without any it is in the clear.
type Keys struct {
	recipients []age.Recipient
	identities []age.Identity
}

// Any says whether there is a key.
func (k Keys) Any() bool { return len(k.recipients) > 0 }

// Identities are what opens a file that was encrypted for the keys, as far as they are secret keys.
func (k Keys) Identities() []age.Identity { return k.identities }

// NewKeys reads keys: recipients as text (age1...), files of recipients or of secret keys as age-keygen writes them, and
// the file of a passphrase, which stands alone.
func NewKeys(recipients, keyFiles []string, passphraseFile string) (Keys, error) {
	var k Keys
	for _, text := range recipients {
		if err := k.addRecipients(text, "--recipient"); err != nil {
			return Keys{}, err
		}
	}
	for _, path := range keyFiles {
		content, err := os.ReadFile(path)
		if err != nil {
			return Keys{}, err
		}
		if err := k.addFile(string(content), path); err != nil {
			return Keys{}, err
		}
	}
	if passphraseFile == "" {
		return k, nil
	}
	if k.Any() {
		return Keys{}, errors.New("a passphrase can't be mixed with other keys: choose one")
	}
	phrase, err := readPassphrase(passphraseFile)
	if err != nil {
		return Keys{}, err
	}
	recipient, err := age.NewScryptRecipient(phrase)
	if err != nil {
		return Keys{}, err
	}
	identity, err := age.NewScryptIdentity(phrase)
	if err != nil {
		return Keys{}, err
	}
	return Keys{[]age.Recipient{recipient}, []age.Identity{identity}}, nil
}

func (k *Keys) addRecipients(text, from string) error {
	found, err := age.ParseRecipients(strings.NewReader(text))
	if err != nil {
		// The library's error would repeat what may be a secret key.
		return fmt.Errorf("%s: not a recipient as age knows it (age1...)", from)
	}
	k.recipients = append(k.recipients, found...)
	return nil
}

func (k *Keys) addFile(content, path string) error {
	if !strings.Contains(content, "AGE-SECRET-KEY-") {
		return k.addRecipients(content, path)
	}
	found, err := age.ParseIdentities(strings.NewReader(content))
	if err != nil {
		return fmt.Errorf("%s: holds no secret key that age can read", path)
	}
	for _, identity := range found {
		switch i := identity.(type) {
		case *age.X25519Identity:
			k.recipients = append(k.recipients, i.Recipient())
		case *age.HybridIdentity:
			k.recipients = append(k.recipients, i.Recipient())
		default:
			return fmt.Errorf("%s: holds a kind of key that backups can't be encrypted for", path)
		}
	}
	k.identities = append(k.identities, found...)
	return nil
}

// forThisRun adds a key that is known to this run alone and never kept, so that what was written can be read back and
// verified where only the recipients' public keys are at hand.
func (k Keys) forThisRun() (Keys, error) {
	if !k.Any() {
		return k, nil
	}
	switch k.recipients[0].(type) {
	case *age.ScryptRecipient:
		return k, nil
	case *age.HybridRecipient:
		own, err := age.GenerateHybridIdentity()
		if err != nil {
			return Keys{}, err
		}
		return k.with(own.Recipient(), own), nil
	default:
		own, err := age.GenerateX25519Identity()
		if err != nil {
			return Keys{}, err
		}
		return k.with(own.Recipient(), own), nil
	}
}

func (k Keys) with(r age.Recipient, i age.Identity) Keys {
	return Keys{append(k.recipients[:len(k.recipients):len(k.recipients)], r), []age.Identity{i}}
}

// encrypt gives the writer through which a file in the clear becomes an encrypted one. Its Close ends the encryption only.
func (k Keys) encrypt(to io.Writer) (io.WriteCloser, error) {
	if !k.Any() {
		return unencrypted{to}, nil
	}
	return age.Encrypt(to, k.recipients...)
}

type unencrypted struct{ io.Writer }

// Close has nothing to end.
func (unencrypted) Close() error { return nil }

// NewIdentities reads what opens a backup: files of secret keys, or the file of a passphrase.
func NewIdentities(files []string, passphraseFile string) ([]age.Identity, error) {
	var all []age.Identity
	for _, path := range files {
		content, err := os.ReadFile(path)
		if err != nil {
			return nil, err
		}
		found, err := age.ParseIdentities(bytes.NewReader(content))
		if err != nil {
			return nil, fmt.Errorf("%s: holds no secret key that age can read", path)
		}
		all = append(all, found...)
	}
	if passphraseFile != "" {
		phrase, err := readPassphrase(passphraseFile)
		if err != nil {
			return nil, err
		}
		identity, err := age.NewScryptIdentity(phrase)
		if err != nil {
			return nil, err
		}
		all = append(all, identity)
	}
	return all, nil
}

// readPassphrase takes the first line, so that an editor's last newline does not count.
func readPassphrase(path string) (string, error) {
	content, err := os.ReadFile(path)
	if err != nil {
		return "", err
	}
	phrase, _, _ := strings.Cut(string(content), "\n")
	if phrase = strings.TrimSuffix(phrase, "\r"); len(phrase) < 12 {
		return "", fmt.Errorf("%s: a passphrase has at least 12 characters", path)
	}
	return phrase, nil
}

// NewKeyFile makes a secret key in a new file that only we can read, and gives the recipient that belongs to it.
func NewKeyFile(path string) (recipient string, err error) {
	identity, err := age.GenerateX25519Identity()
	if err != nil {
		return "", err
	}
	file, err := os.OpenFile(path, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if err != nil {
		return "", err
	}
	_, err = fmt.Fprintf(file, "# public key: %s\n%s\n", identity.Recipient(), identity)
	return identity.Recipient().String(), errors.Join(err, file.Sync(), file.Close())
}
