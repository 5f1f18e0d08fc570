package local

import (
	"context"
	"fmt"
	"path/filepath"
)

func startPersistent(ctx context.Context, options Options) (*Server, error) {
	if options.Dir == "" {
		options.Dir = DefaultDir()
	}
	dir, err := filepath.Abs(options.Dir)
	if err != nil {
		return nil, err
	}
	if err := claim(dir); err != nil {
		return nil, fmt.Errorf("local: %w", err)
	}
	if dir, err = filepath.EvalSymlinks(dir); err != nil {
		return nil, err
	}
	held, err := lockSoon(ctx, filepath.Join(dir, lockFile))
	if err != nil {
		return nil, fmt.Errorf("local: %w", err)
	}
	if held == nil {
		return nil, fmt.Errorf("local: %w: %s: stop that one, or choose another directory", ErrInUse, dir)
	}
	server, err := open(ctx, dir, options)
	if err != nil {
		_ = held.release()
		return nil, err
	}
	server.lock = held
	return server, nil
}

// open gets the server of a directory to run, whose lock is held.
func open(ctx context.Context, dir string, options Options) (*Server, error) {
	c, err := prepare(ctx, dir, options)
	if err != nil {
		return nil, err
	}
	if err := c.initialize(ctx); err != nil {
		return nil, err
	}
	running, adopted, err := c.adopt(ctx)
	if err != nil {
		return nil, err
	}
	if !adopted {
		if running, err = c.launch(ctx); err != nil {
			return nil, err
		}
	}
	return c.server(running, adopted), nil
}

// prepare chooses programs and account to fit the data, if there is some.
func prepare(ctx context.Context, dir string, options Options) (*cluster, error) {
	major, err := madeBy(dir)
	if err != nil {
		return nil, err
	}
	found, err := chosen(ctx, options)
	if err != nil {
		return nil, err
	}
	binaries, err := matching(dir, major, found)
	if err != nil {
		return nil, fmt.Errorf("local: %w", err)
	}
	as, err := serverAccount()
	if major != 0 {
		as, err = ownerAccount(filepath.Join(dir, dataDir))
	}
	if err != nil {
		return nil, err
	}
	return assemble(dir, binaries, as, options)
}

func assemble(dir string, binaries Binaries, as account, options Options) (*cluster, error) {
	if err := as.reaches(dir); err != nil {
		return nil, err
	}
	secret, err := password(dir, as)
	if err != nil {
		return nil, err
	}
	return &cluster{
		dir:       dir,
		binaries:  binaries,
		as:        as,
		password:  secret,
		throwaway: options.Throwaway,
		log:       options.Log,
		pickPort:  options.pickPort,
	}, nil
}
