package api

import (
	"crypto/tls"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"

	"github.com/gin-gonic/gin"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// askedFrom gives a request to a server with settings, as it comes from a peer.
func askedFrom(t *testing.T, cfg Config, peer string, header http.Header) (*Server, *gin.Context) {
	t.Helper()
	cfg.Log = slog.New(slog.DiscardHandler)
	s := &Server{cfg: cfg}
	var err error
	s.proxies, err = parseProxies(cfg.TrustedProxies)
	require.NoError(t, err)
	engine, err := s.engine()
	require.NoError(t, err)
	req := httptest.NewRequestWithContext(t.Context(), http.MethodGet, "/v1/me", nil)
	req.RemoteAddr = peer
	req.Host = "localhost:8080" // whatever it says
	req.Header = header
	c := gin.CreateTestContextOnly(httptest.NewRecorder(), engine)
	c.Request = req
	return s, c
}

func TestWhenTheCookieIsForTLSAlone(t *testing.T) {
	t.Parallel()
	https := &url.URL{Scheme: "https", Host: "goalies.example.org"}
	plain := &url.URL{Scheme: "http", Host: "field.local"}
	proxies := []string{"10.0.0.0/8", "127.0.0.1"}
	for _, tc := range []struct {
		name    string
		setting SecureCookies
		public  *url.URL
		proxies []string
		peer    string
		tls     bool
		proto   []string
		want    bool
	}{
		{"own machine", SecureAuto, nil, nil, "127.0.0.1:5", false, nil, false},
		{"own machine, IPv6", SecureAuto, nil, nil, "[::1]:5", false, nil, false},
		{"by default", "", nil, nil, "127.0.0.1:5", false, nil, false},
		{"own machine, always", SecureAlways, nil, nil, "127.0.0.1:5", false, nil, true},
		{"over TLS", SecureAuto, nil, nil, "127.0.0.1:5", true, nil, true},
		{"over TLS, never", SecureNever, nil, nil, "192.0.2.7:5", true, nil, false},
		{"from elsewhere, without TLS", SecureAuto, nil, nil, "192.0.2.7:5", false, nil, true},
		{"from elsewhere, never", SecureNever, nil, nil, "192.0.2.7:5", false, nil, false},
		{"no proxy is trusted", SecureAuto, nil, nil, "127.0.0.1:5", false, []string{"https"}, false},
		{"no proxy is trusted, and one says http", SecureAuto, nil, nil, "192.0.2.7:5", false, []string{"http"}, true},
		{"a trusted proxy says https", SecureAuto, nil, proxies, "127.0.0.1:5", false, []string{"https"}, true},
		{"a trusted proxy says http", SecureAuto, nil, proxies, "10.1.2.3:5", false, []string{"http"}, false},
		{"a trusted proxy says nothing", SecureAuto, nil, proxies, "10.1.2.3:5", false, nil, true},
		{"the nearest proxy's word counts", SecureAuto, nil, proxies, "10.1.2.3:5", false, []string{"https, http"}, false},
		{"in a line of its own too", SecureAuto, nil, proxies, "10.1.2.3:5", false, []string{"http", "https"}, true},
		{"a peer that is no proxy", SecureAuto, nil, proxies, "192.0.2.7:5", false, []string{"http"}, true},
		{"known under https", SecureAuto, https, nil, "127.0.0.1:5", false, nil, true},
		{"known under http", SecureAuto, plain, nil, "192.0.2.7:5", false, nil, false},
	} {
		s, c := askedFrom(t, Config{SecureCookies: tc.setting, PublicURL: tc.public, TrustedProxies: tc.proxies}, tc.peer,
			http.Header{"X-Forwarded-Proto": tc.proto})
		if tc.tls {
			c.Request.TLS = &tls.ConnectionState{}
		}
		assert.Equal(t, tc.want, s.secure(c), tc.name)
		s.setSession(c, "secret", 90e9)
		cookie := c.Writer.Header().Get("Set-Cookie")
		assert.Equal(t, tc.want, strings.Contains(cookie, "; Secure"), "%s: %s", tc.name, cookie)
		assert.Equal(t, tc.want, strings.HasPrefix(cookie, "__Host-cagework_session=secret; Path=/; Max-Age=90; HttpOnly"), "%s: %s", tc.name, cookie)
		assert.NotContains(t, cookie, "Domain=")
		assert.Contains(t, cookie, "SameSite=Lax")
	}
}

func TestWhereARequestComesFrom(t *testing.T) {
	t.Parallel()
	for name, tc := range map[string]struct {
		proxies   []string
		peer      string
		forwarded []string
		want      string
	}{
		"the peer":                     {nil, "192.0.2.7:5", nil, "192.0.2.7/32"},
		"what nobody trusted says":     {nil, "192.0.2.7:5", []string{"198.51.100.1"}, "192.0.2.7/32"},
		"what a trusted proxy says":    {[]string{"192.0.2.0/24"}, "192.0.2.7:5", []string{"198.51.100.1"}, "198.51.100.1/32"},
		"the nearest that is believed": {[]string{"192.0.2.7"}, "192.0.2.7:5", []string{"203.0.113.9, 198.51.100.1"}, "198.51.100.1/32"},
		"a chain of proxies":           {[]string{"192.0.2.0/24"}, "192.0.2.7:5", []string{"203.0.113.9, 198.51.100.1, 192.0.2.8"}, "198.51.100.1/32"},
		"a client that writes a line":  {[]string{"192.0.2.7"}, "192.0.2.7:5", []string{"203.0.113.9", "198.51.100.1"}, "198.51.100.1/32"},
		"rubbish from a proxy":         {[]string{"192.0.2.7"}, "192.0.2.7:5", []string{"unknown"}, "192.0.2.7/32"},
		"IPv6 by its network":          {nil, "[2001:db8:1:2:3:4:5:6]:5", nil, "2001:db8:1:2::/64"},
		"IPv4 within IPv6":             {nil, "[::ffff:192.0.2.7]:5", nil, "192.0.2.7/32"},
		"IPv6 by a proxy":              {[]string{"::1"}, "[::1]:5", []string{"2001:db8:1:2::9"}, "2001:db8:1:2::/64"},
	} {
		_, c := askedFrom(t, Config{TrustedProxies: tc.proxies}, tc.peer, http.Header{"X-Forwarded-For": tc.forwarded, "X-Real-Ip": {"203.0.113.250"}})
		assert.Equal(t, tc.want, clientAddress(c).String(), name)
	}
}
