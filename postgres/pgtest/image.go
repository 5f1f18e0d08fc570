package pgtest

import (
	"context"
	"errors"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"time"

	"github.com/containerd/errdefs"
	"github.com/moby/moby/api/pkg/authconfig"
	"github.com/moby/moby/client"
	"github.com/testcontainers/testcontainers-go"
)

const (
	// pullLimit is how long the image may take to come: nobody wants to wait for it before the first test.
	pullLimit = 6 * time.Second
	// pullPause is how long a pull that came to nothing isn't tried again: each package of a run would wait for it.
	pullPause = 10 * time.Minute
)

// want makes sure that the engine has an image, or gives errAbsent with the reason within seconds.
func (e *engine) want(ctx context.Context, image string) error {
	ctx, cancel := context.WithTimeout(ctx, pullLimit)
	defer cancel()
	_, err := e.ImageInspect(ctx, image)
	if err == nil {
		return nil
	}
	if errdefs.IsNotFound(err) {
		err = e.pullUnlessInVain(ctx, image)
	}
	if err != nil {
		return fmt.Errorf("%w: the Docker engine has no image %s, and it could not be pulled just now: %w (\"docker pull %s\" gets it once and for all)",
			errAbsent, image, err, image)
	}
	return nil
}

func (e *engine) pullUnlessInVain(ctx context.Context, image string) error {
	note := pullNote(image)
	if info, err := os.Stat(note); err == nil && time.Since(info.ModTime()) < pullPause {
		return fmt.Errorf("it was tried less than %.0f minutes ago", pullPause.Minutes())
	}
	err := e.pull(ctx, image)
	if err == nil {
		_ = os.Remove(note)
		return nil
	}
	if os.MkdirAll(filepath.Dir(note), 0o700) == nil {
		_ = os.WriteFile(note, []byte(err.Error()+"\n"), 0o600)
	}
	if errors.Is(err, context.DeadlineExceeded) {
		err = fmt.Errorf("it takes longer than %.0f seconds", pullLimit.Seconds())
	}
	return err
}

func (e *engine) pull(ctx context.Context, image string) error {
	options := client.ImagePullOptions{}
	if _, login, err := testcontainers.DockerImageAuth(ctx, image); err == nil {
		if options.RegistryAuth, err = authconfig.Encode(login); err != nil {
			return err
		}
	}
	pulled, err := e.ImagePull(ctx, image, options)
	if err != nil {
		return err
	}
	return pulled.Wait(ctx)
}

// pullNote is the file that remembers when the image couldn't be pulled.
func pullNote(image string) string {
	dir, err := os.UserCacheDir()
	if err != nil {
		dir = os.TempDir()
	}
	return filepath.Join(dir, "cagework", "no-image", url.PathEscape(image))
}
