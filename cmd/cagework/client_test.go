package main

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"net"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"cagework/openapi/client"
)

// listen takes a free port until the test ends, and gives its address.
func listen(t *testing.T) string {
	t.Helper()
	l, err := (&net.ListenConfig{}).Listen(t.Context(), "tcp", "127.0.0.1:0")
	require.NoError(t, err)
	t.Cleanup(func() { _ = l.Close() })
	return l.Addr().String()
}

// answer is a response that was read to its end.
type answer struct {
	t      *testing.T
	status int
	header http.Header
	body   string
}

func (a answer) want(status int) string {
	a.t.Helper()
	require.Equal(a.t, status, a.status, "%s", a.body)
	return a.body
}

// browser is a client without a memory for connections or cookies.
func browser() *http.Client {
	return &http.Client{
		Transport:     &http.Transport{DisableKeepAlives: true},
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse },
	}
}

func send(t *testing.T, req *http.Request) answer {
	t.Helper()
	res, err := browser().Do(req)
	require.NoError(t, err)
	defer func() { _ = res.Body.Close() }()
	body, err := io.ReadAll(res.Body)
	require.NoError(t, err)
	return answer{t, res.StatusCode, res.Header, string(body)}
}

// get reads an address, with a token unless it is "".
func get(t *testing.T, address, token, accept string) answer {
	t.Helper()
	req, err := http.NewRequestWithContext(t.Context(), http.MethodGet, address, nil)
	require.NoError(t, err)
	req.Header.Set("Accept", accept)
	if token != "" {
		req.Header.Set("Authorization", "Bearer "+token)
	}
	return send(t, req)
}

// signIn sends the form and gives the cookie.
func signIn(t *testing.T, base, token string) *http.Cookie {
	t.Helper()
	form := strings.NewReader(url.Values{"token": {token}}.Encode())
	req, err := http.NewRequestWithContext(t.Context(), http.MethodPost, base+"/sign-in", form)
	require.NoError(t, err)
	req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	a := send(t, req)
	a.want(http.StatusSeeOther)
	cookies := (&http.Response{Header: a.header}).Cookies()
	require.Len(t, cookies, 1)
	require.True(t, cookies[0].HttpOnly)
	require.Equal(t, http.SameSiteLaxMode, cookies[0].SameSite)
	return cookies[0]
}

// apiAt gives a client of the API at an address.
func apiAt(t *testing.T, address, token string) *client.ClientWithResponses {
	t.Helper()
	c, err := client.NewClientWithResponses("http://"+address, client.WithRequestEditorFn(withToken(token)),
		client.WithHTTPClient(browser()))
	require.NoError(t, err)
	return c
}

// shotsAt lists the ids and revs of all shots, page by page.
func shotsAt(t *testing.T, base, token string) map[string]int64 {
	t.Helper()
	shots := map[string]int64{}
	for next := base + "/v1/shots?limit=200"; next != ""; {
		var page struct {
			Items []struct {
				ID  string `json:"id"`
				Rev int64  `json:"rev"`
			} `json:"items"`
			NextCursor string `json:"next_cursor"`
		}
		require.NoError(t, json.Unmarshal([]byte(get(t, next, token, "application/json").want(http.StatusOK)), &page))
		for _, s := range page.Items {
			require.NotContains(t, shots, s.ID, "a shot is on two pages")
			shots[s.ID] = s.Rev
		}
		next = ""
		if page.NextCursor != "" {
			next = base + "/v1/shots?limit=200&cursor=" + url.QueryEscape(page.NextCursor)
		}
	}
	return shots
}

// patchGoalie renames the team's goalie.
func patchGoalie(ctx context.Context, address, token, name string) (status int, err error) {
	body, err := json.Marshal(map[string]string{"name": name})
	if err != nil {
		return 0, err
	}
	target := "http://" + address + "/v1/goalies/" + theGoalie()
	req, err := http.NewRequestWithContext(ctx, http.MethodPatch, target, bytes.NewReader(body))
	if err != nil {
		return 0, err
	}
	req.Header.Set("Authorization", "Bearer "+token)
	req.Header.Set("Content-Type", "application/merge-patch+json")
	req.Header.Set("If-Match", "*")
	res, err := browser().Do(req)
	if err != nil {
		return 0, err
	}
	defer func() { _ = res.Body.Close() }()
	_, err = io.Copy(io.Discard, res.Body)
	return res.StatusCode, err
}
