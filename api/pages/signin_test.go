package pages

import (
	"bytes"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"cagework/domain"
)

func TestSignInPages(t *testing.T) {
	for name, v := range map[string]SignInView{
		"signin": {}, "signin_error": {Error: "The token is unknown, expired or revoked.", Next: "/v1/me"},
		"signin_code": {Code: "7K2MX-Q9D4A"},
	} {
		var b bytes.Buffer
		require.NoError(t, SignIn(&b, v))
		golden(t, name, b.String())
		wellFormed(t, b.String())
		assert.Equal(t, v.Code == "", strings.Contains(b.String(), `<label for="token">`), "with a code nobody is asked for a token")
		assert.Contains(t, b.String(), `<label for="code">`)
		assert.NotContains(t, b.String(), "onpaste")
	}
}

func TestPagesOfMembers(t *testing.T) {
	id := domain.NameID(domain.ID{}, "one")
	teams := []domain.Named{{ID: id, Name: "Harrow Creek varsity"}}
	goalies := []domain.Named{{ID: id, Name: "Rowan <Tully>"}, {ID: domain.NameID(id, "other"), Name: "Juno Ashe"}}
	week := domain.Week{Year: 2026, Number: 15}
	for name, v := range map[string]MeView{
		"me_coach":    {Name: "Ode Marlow", Role: domain.Coach, Week: week, Weeks: true, Teams: teams, Goalies: goalies},
		"me_recorder": {Name: "Sam Reed", Role: domain.Recorder, Week: week, Teams: teams, Goalies: goalies},
		"me_viewer":   {Name: "Kit Tully", Role: domain.Viewer, Week: week, Goalies: goalies[:1]},
		"me_alone":    {Name: "Sam Reed", Role: domain.Recorder, Week: week},
	} {
		v.Program = "Harrow Creek Lacrosse"
		var b bytes.Buffer
		require.NoError(t, Me(&b, v))
		got := b.String()
		golden(t, name, got)
		wellFormed(t, got)
		assert.Contains(t, got, `action="/sign-out"`)
		assert.NotContains(t, got, "<Tully>")
		assert.Equal(t, v.Weeks, strings.Contains(got, "/weeks/"), "%s: no link that would be refused", name)
	}
}

func TestTheCodesPage(t *testing.T) {
	checker := func(x, y int) bool { return (x/2+y)%2 == 0 }
	v := CodeView{Code: "7K2MX-Q9D4A", Size: 5, Black: checker}
	var b, picture bytes.Buffer
	require.NoError(t, Code(&b, v))
	golden(t, "signincode", b.String())
	wellFormed(t, b.String())
	require.NoError(t, CodePicture(&picture, v))
	assert.Contains(t, picture.String(), `viewBox="0 0 13 13"`)
	assert.Contains(t, picture.String(), `d="`+v.Path()+`"`)
	drawn := 0
	for y := range v.Size {
		for x := range v.Size {
			if checker(x, y) {
				drawn++
			}
		}
	}
	assert.Equal(t, drawn, area(t, v.Path()), "every black module is drawn, once")
}

// area adds up the lengths of a path's runs.
func area(t *testing.T, path string) int {
	t.Helper()
	total := 0
	for part := range strings.SplitSeq(path, "M") {
		_, run, found := strings.Cut(part, "h")
		if found {
			length, _, _ := strings.Cut(run, "v")
			n, err := strconv.Atoi(length)
			require.NoError(t, err)
			total += n
		}
	}
	return total
}

// Each page can be left, on a screen and not on paper.
func TestEveryPageHasASignOut(t *testing.T) {
	assert.Contains(t, draws(t, weekNamed(t, "gap")), `<form class="out" method="post" action="/sign-out">`)
	assert.Contains(t, string(css), "nav, .out, .screen { display: none; }")
	entries, err := files.ReadDir(".")
	require.NoError(t, err)
	whole := 0
	for _, e := range entries {
		text, err := files.ReadFile(e.Name())
		require.NoError(t, err)
		if strings.HasPrefix(string(text), "<!DOCTYPE") && e.Name() != "signin.html" {
			whole++
			assert.Contains(t, string(text), `{{- template "signout"}}`, e.Name())
		}
	}
	assert.GreaterOrEqual(t, whole, 5)
}
