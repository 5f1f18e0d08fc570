package api_test

import (
	"fmt"
	"maps"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"cagework/openapi"
)

// attempt makes a request of an operation in one of three tempers: as a good client sends it, on the edge of what the
// contract allows, or with something about it that no good client sends.
func (m *maker) attempt(op openapi.Operation) attempt {
	m.edge, m.foul = 0, 0
	a := attempt{op: op, method: op.Method, plain: true}
	switch temper := m.rng.Float64(); {
	case temper < .3:
	case temper < .6:
		m.edge, a.plain = .3, false
	default:
		m.edge, m.foul, a.plain = .1, .15, false
	}
	a.target = m.path(op) + m.query(op)
	a.header = m.headers(op)
	if len(op.Media) > 0 {
		a.body = m.body(op)
		a.header = append(a.header, [2]string{"Content-Type", op.Media[0]})
		if m.chance(.1) {
			a.frame = byChunks
		}
		if m.chance(.1) {
			a.body = m.zipped(a.body)
			a.header = append(a.header, [2]string{"Content-Encoding", "gzip"})
			a.plain = false
		}
	}
	if m.foul > 0 {
		m.spoil(&a)
	}
	return a
}

// path gives the path of a record of the world, of a new one, or of none.
func (m *maker) path(op openapi.Operation) string {
	path := m.round.world.path(op)
	own := op.PathExamples["id"]
	if own == "" {
		return path
	}
	id := m.round.world.id(own)
	made, old := m.round.made[op.Noun], op.Method != http.MethodPut
	switch {
	case m.chance(m.foul):
		return strings.Replace(path, id, m.foulSegment(), 1)
	case old && made != "" && (op.Method == http.MethodDelete || m.chance(.3)):
		return strings.Replace(path, id, made, 1)
	case op.Method == http.MethodPut && m.chance(.5), op.Method == http.MethodDelete && !m.chance(.15), m.chance(.05):
		return strings.Replace(path, id, m.idFor(""), 1)
	case strings.HasPrefix(path, "/v1/changes/"):
		return strings.Replace(path, id, idIn(m.anyPath()), 1)
	}
	return path
}

func (m *maker) foulSegment() string {
	return pick(m, "", "seven", "0", "-1", "%00", "%", "%zz", "%2F", "..", "..%2f..", ".", "*", "~", "%ff", "%C0%AF", "😀",
		"00000000-0000-0000-0000-000000000000", "019CA6B1-DC00-7000-8000-000000000011", "{019ca6b1-dc00-7000-8000-000000000011}",
		"urn:uuid:019ca6b1-dc00-7000-8000-000000000011", "019ca6b1dc0070008000000000000011", "019ca6b1-dc00-7000-8000-00000000001",
		"019ca6b1-dc00-7000-8000-000000000011%20", "2026-W15", "2026-W54", "0000-W01", "9999-W52", "10000-W01", "2026-w15", "2026-W1",
		"+026-W15", "null", "batch", "undo", strings.Repeat("a", 300), strings.Repeat("%41", 2000), "a;b=c", "a,b", "a%0d%0aX:%20y")
}

// query gives some of the parameters that an operation takes, and now and then one that it does not take.
func (m *maker) query(op openapi.Operation) string {
	takes := m.parameters(op)
	var parts []string
	for _, name := range slices.Sorted(maps.Keys(takes)) {
		if !m.chance(.3) {
			continue
		}
		value := strings.Trim(m.value(takes[name], name, 0), `"`)
		if name == "cursor" && m.chance(.8) {
			value = pick(m, "abc", "AQ", "0", "zz", "-1", "1y2p0ij32e8e7", "AQAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA")
		}
		parts = append(parts, name+"="+url.QueryEscape(value))
	}
	if m.chance(m.foul) {
		parts = append(parts, pick(m, "nonsense=1", "limit=%zz", "limit=1;cursor=2", "=", "&&", "limit=1&limit=2", "%00=%00", "limit",
			"id=1", "q="+strings.Repeat("a", 4000), "\xff=\xfe", "limit=+1", "limit=1e3", "week[]=2026-W15", "a[b]=c"))
	}
	if len(parts) == 0 {
		return ""
	}
	return "?" + strings.Join(parts, "&")
}

// headers gives who asks, under which condition, and what they take.
func (m *maker) headers(op openapi.Operation) [][2]string {
	// Each request comes from an address of its own, or so says the proxy in front.
	out := [][2]string{{"X-Forwarded-For", fmt.Sprintf("203.0.113.%d, 10.%d.%d.%d", m.rng.IntN(256), m.rng.IntN(256), m.rng.IntN(256), m.rng.IntN(256))}}
	token := m.round.tokens[0]
	if m.chance(.2) {
		token = pick(m, m.round.tokens...)
	}
	if !op.Public || m.chance(.3) {
		out = append(out, [2]string{"Authorization", "Bearer " + token})
	}
	if conditional(op) && !m.chance(m.edge/2) {
		tag := m.round.tags[m.round.world.path(op)]
		if tag == "" || m.chance(.5) {
			tag = "*"
		}
		if m.chance(m.edge) {
			tag = pick(m, `"1"`, `W/"1"`, `"1", "2"`, `"999999999"`, `""`, `"-1"`, `"x"`)
		}
		out = append(out, [2]string{"If-Match", tag})
	}
	if m.chance(.3) {
		out = append(out, [2]string{"Accept", pick(m, "*/*", "application/json", "text/html", "text/csv", "text/html,*/*;q=0.1")})
	}
	return out
}

// spoil makes one thing or two about a request odd.
func (m *maker) spoil(a *attempt) {
	for range 1 + m.rng.IntN(2) {
		switch m.rng.IntN(12) {
		case 0:
			a.method = pick(m, "HEAD", "OPTIONS", "TRACE", "PROPFIND", "POST", "PUT", "PATCH", "DELETE", "GET", "get", "QUERY")
		case 1:
			a.set("Authorization", pick(m, "", "Bearer", "Bearer ", "bearer "+m.round.tokens[0], "Basic YTpi", "Bearer cw_wrong",
				"Bearer "+strings.Repeat("x", 3000), "Bearer "+m.round.tokens[0]+"x", "Bearer \xff", "Bearer "+m.round.tokens[0]+", Basic a"))
		case 2:
			a.set("Content-Type", pick(m, "", "text/plain", "application/json; charset=latin1", "application/json;;", "multipart/form-data",
				"application/json; charset=\"UTF-8\"", "application/problem+json", "/", "*/*", "application/merge-patch+json", "application/json, text/plain", "\xff"))
		case 3:
			a.set("Content-Encoding", pick(m, "gzip", "br", "identity", "gzip, gzip", "deflate", "zstd", "x-gzip", "", "\xff", "GZIP"))
		case 4:
			a.set("If-Match", pick(m, "", "**", `"`, `"1`, `1`, `"1""2"`, `,`, `"1",,"2"`, "\xff", strings.Repeat(`"1",`, 2000), `"99999999999999999999"`, `*, "1"`))
		case 5:
			a.set("Accept", pick(m, "", "image/png", "text/html;q=0", "*/*;q=2", "text/csv;q=NaN", ";;;", "\xff", strings.Repeat("a/b,", 2000), "text/*", "application/json;q=1e-9"))
		case 6:
			a.set(pick(m, "If-None-Match", "Range", "Origin", "Referer", "Cookie", "Request-Id", "Accept-Language", "Sec-Fetch-Site",
				"X-HTTP-Method-Override", "X-Forwarded-Proto", "Forwarded", "Accept-Encoding", "Upgrade", "Date", "Via", "Last-Event-ID", "Traceparent"),
				pick(m, "", "*", `"1"`, "bytes=0-", "https://evil.example", "cagework_session=", "cagework_session="+m.round.tokens[0], "DELETE", "h2c", "https",
					"cross-site", "gzip;q=0, *;q=0", "\xff\xfe", strings.Repeat("z", 3000), "a b", "<script>", "null"))
		case 7:
			a.frame = pick(m, byChunks, byNothing, tooLong, twice)
		case 8:
			a.set("Expect", pick(m, "100-continue", "100-Continue", "200-maybe", ""))
		case 9:
			a.body = pick(m, nil, []byte{}, []byte("{}"), []byte("null"), []byte("[]"), []byte("x"), a.body)
		case 10:
			a.target = pick(m, "/", "//", "/v1", "/v1/", a.target+"/", "/"+a.target, strings.ToUpper(a.target), a.target+"#x", "*", "/docs", "/openapi.yaml",
				"http://other.example"+a.target, "/v1/../v1/me", "/%76%31/me", "/docs/assets/..%2f..%2fx", "/v1/me%00", "/metrics", "/debug/pprof/")
		case 11:
			if m.chance(.1) {
				a.body = []byte(`{"name":"` + strings.Repeat("x", pick(m, 1<<16, 1<<20, 1<<20+1, 3<<20)) + `"}`)
			}
		}
	}
}

func (a *attempt) set(name, value string) {
	a.header = slices.DeleteFunc(a.header, func(h [2]string) bool { return h[0] == name })
	a.header = append(a.header, [2]string{name, value})
}
