package pgtest_test

import (
	"context"
	"encoding/json"
	"net"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"cagework/postgres/local"

	"github.com/stretchr/testify/require"
)

// fakeEngine answers what is asked of a Docker engine here. Its one container is a server of the machine's programs.
type fakeEngine struct {
	host     string // as DOCKER_HOST names it
	hasImage bool
	starts   bool
	pull     func() // happens while a pull is asked for

	mu      sync.Mutex
	made    map[string]any // what the container was asked to be, nil when there is none
	running bool
	pulls   int
	removed int
	server  *local.Server
}

// containerID is as long as a real one, of which the library shows the beginning.
var containerID = strings.Repeat("0123456789abcdef", 4)

func newFakeEngine(t *testing.T, f *fakeEngine) *fakeEngine {
	t.Helper()
	if f.starts {
		var err error
		f.server, err = local.Start(t.Context(), local.Options{Throwaway: true})
		require.NoError(t, err)
		t.Cleanup(func() { require.NoError(t, f.server.Stop(context.Background())) })
	}
	mux := http.NewServeMux()
	mux.HandleFunc("/_ping", func(w http.ResponseWriter, _ *http.Request) { w.Header().Set("Api-Version", "1.44") })
	mux.HandleFunc("/info", answer(map[string]any{"ServerVersion": "0", "OperatingSystem": "none"}))
	mux.HandleFunc("/networks", answer([]any{map[string]any{"Name": "bridge", "Id": "bridge"}}))
	mux.HandleFunc("/images/{name...}", f.image)
	mux.HandleFunc("POST /images/create", f.pullImage)
	mux.HandleFunc("GET /containers/json", answer([]any{}))
	mux.HandleFunc("GET /containers/{id}/json", f.inspect)
	mux.HandleFunc("POST /containers/create", f.create)
	mux.HandleFunc("POST /containers/{id}/start", f.start)
	mux.HandleFunc("DELETE /containers/{id}", f.remove)
	version := regexp.MustCompile(`^/v[0-9.]+`)
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		r.URL.Path, r.URL.RawPath = version.ReplaceAllString(r.URL.Path, ""), ""
		mux.ServeHTTP(w, r)
	}))
	t.Cleanup(server.Close)
	f.host = strings.Replace(server.URL, "http://", "tcp://", 1)
	return f
}

// did tells what was asked of it.
func (f *fakeEngine) did() (pulls, removed int, made map[string]any) {
	f.mu.Lock()
	defer f.mu.Unlock()
	return f.pulls, f.removed, f.made
}

func answer(body any) http.HandlerFunc {
	return func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Content-Type", "application/json")
		_ = json.NewEncoder(w).Encode(body)
	}
}

func refuse(w http.ResponseWriter, status int, why string) {
	w.Header().Set("Content-Type", "application/json")
	w.WriteHeader(status)
	_ = json.NewEncoder(w).Encode(map[string]string{"message": why})
}

func (f *fakeEngine) image(w http.ResponseWriter, r *http.Request) {
	if !f.hasImage {
		refuse(w, http.StatusNotFound, "No such image: "+r.PathValue("name"))
		return
	}
	answer(map[string]any{"Id": "sha256:1"})(w, r)
}

func (f *fakeEngine) pullImage(w http.ResponseWriter, _ *http.Request) {
	f.mu.Lock()
	f.pulls++
	f.mu.Unlock()
	if f.pull != nil {
		f.pull()
	}
	refuse(w, http.StatusNotFound, "the registry is out of reach")
}

func (f *fakeEngine) create(w http.ResponseWriter, r *http.Request) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.made = map[string]any{"Name": r.URL.Query().Get("name")}
	if json.NewDecoder(r.Body).Decode(&f.made) != nil {
		refuse(w, http.StatusBadRequest, "not JSON")
		return
	}
	w.WriteHeader(http.StatusCreated)
	answer(map[string]any{"Id": containerID})(w, r)
}

func (f *fakeEngine) start(w http.ResponseWriter, _ *http.Request) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if !f.starts {
		refuse(w, http.StatusInternalServerError, "no room for a container")
		return
	}
	f.running = true
	w.WriteHeader(http.StatusNoContent)
}

func (f *fakeEngine) inspect(w http.ResponseWriter, r *http.Request) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.made == nil {
		refuse(w, http.StatusNotFound, "No such container")
		return
	}
	body := map[string]any{
		"Id": containerID, "Created": time.Now().Format(time.RFC3339Nano),
		"State": map[string]any{"Running": f.running, "Status": "created"},
	}
	if f.running {
		// The password is that of the server which stands for a container.
		address, _ := url.Parse(f.server.URL("postgres"))
		password, _ := address.User.Password()
		body["Config"] = map[string]any{"Env": []string{"POSTGRES_PASSWORD=" + password}}
		_, port, _ := net.SplitHostPort(address.Host)
		body["NetworkSettings"] = map[string]any{"Ports": map[string]any{
			"5432/tcp": []any{map[string]string{"HostIp": "127.0.0.1", "HostPort": port}},
		}}
	}
	answer(body)(w, r)
}

func (f *fakeEngine) remove(w http.ResponseWriter, _ *http.Request) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.made = nil
	f.removed++
	w.WriteHeader(http.StatusNoContent)
}
