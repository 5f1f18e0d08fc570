package api

import (
	"fmt"
	"net/netip"
	"strings"

	"github.com/gin-gonic/gin"
)

// SecureCookies says when a session's cookie is for TLS alone.
type SecureCookies string

// When a session's cookie is for TLS alone. Auto (the zero value too): where the browser came over TLS, as this process or a
// trusted proxy saw it, or nobody knows; not for a browser on this very machine. The Host header, which anybody can write, has
// no say.
const (
	SecureAuto   SecureCookies = "auto"
	SecureAlways SecureCookies = "always"
	SecureNever  SecureCookies = "never"
)

// parseProxies reads addresses and networks.
func parseProxies(proxies []string) ([]netip.Prefix, error) {
	var out []netip.Prefix
	for _, text := range proxies {
		prefix, err := netip.ParsePrefix(text)
		if err != nil {
			address, err := netip.ParseAddr(text)
			if err != nil {
				return nil, fmt.Errorf("trusted proxy %q is neither an address nor a network", text)
			}
			prefix = netip.PrefixFrom(address, address.BitLen())
		}
		out = append(out, prefix)
	}
	return out, nil
}

// clientAddress is where a request comes from, as far as it can be believed: the peer, or what trusted proxies say in
// X-Forwarded-For. Of an IPv6 address it is the network, for a client chooses within its /64 as it likes. The zero value is
// of a peer that has no address.
func clientAddress(c *gin.Context) netip.Prefix {
	address, err := netip.ParseAddr(c.ClientIP())
	if err != nil {
		return netip.Prefix{}
	}
	address = address.Unmap().WithZone("")
	bits := address.BitLen()
	if address.Is6() {
		bits = 64
	}
	prefix, err := address.Prefix(bits)
	if err != nil {
		return netip.Prefix{}
	}
	return prefix
}

// overTLS tells whether the browser came over TLS: by this process's own connection, by what a trusted proxy says, or by the
// address that the service is known under. known is false when none of them says anything.
func (s *Server) overTLS(c *gin.Context) (tls, known bool) {
	if c.Request.TLS != nil {
		return true, true
	}
	if s.cfg.PublicURL != nil {
		return s.cfg.PublicURL.Scheme == "https", true
	}
	said := c.Request.Header.Values("X-Forwarded-Proto")
	if len(said) == 0 {
		return false, false
	}
	if !s.trusts(c) {
		s.distrusted.Do(func() {
			s.cfg.Log.Warn("X-Forwarded-Proto from an address that is not among the trusted proxies is not believed", "peer", c.RemoteIP())
		})
		return false, false
	}
	last := said[len(said)-1] // the nearest proxy's own word
	return strings.EqualFold(strings.TrimSpace(last[strings.LastIndex(last, ",")+1:]), "https"), true
}

// trusts tells whether the peer is a trusted proxy.
func (s *Server) trusts(c *gin.Context) bool {
	peer, err := netip.ParseAddr(c.RemoteIP())
	if err != nil {
		return false
	}
	for _, prefix := range s.proxies {
		if prefix.Contains(peer.Unmap()) {
			return true
		}
	}
	return false
}

// secure tells whether a session's cookie of this request is for TLS alone.
func (s *Server) secure(c *gin.Context) bool {
	switch s.cfg.SecureCookies {
	case SecureAlways:
		return true
	case SecureNever:
		return false
	case SecureAuto:
	}
	if tls, known := s.overTLS(c); known {
		return tls
	}
	peer, err := netip.ParseAddr(c.RemoteIP())
	return err != nil || !peer.Unmap().IsLoopback()
}
