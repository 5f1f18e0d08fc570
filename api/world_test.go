package api_test

import (
	"context"
	"encoding/json"
	"net/http"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"cagework/domain"
	"cagework/openapi"
)

// world is one consistent set of records, a record of each noun, made from the contract's own examples under ids
// of its own. A new operation with its examples is in it without being told.
type world struct {
	name string
	seed domain.ID
	put  map[string]string // noun → the path of its record
}

var uuidPattern = regexp.MustCompile(`[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}`)

// id gives this world's id in place of one of the contract's examples.
func (w *world) id(example string) string {
	return domain.NameID(w.seed, w.name+" "+example).String()
}

// text puts this world's ids, and codes that no other world has, into an example.
func (w *world) text(example string) string {
	out := uuidPattern.ReplaceAllStringFunc(example, w.id)
	return regexp.MustCompile(`"code":"([a-z_]+)"`).ReplaceAllString(out, `"code":"${1}_`+w.suffix()+`"`)
}

func (w *world) suffix() string { return w.id("codes")[:6] }

// path gives an operation's path with this world's ids in it.
func (w *world) path(op openapi.Operation) string {
	path := op.Path
	for name, example := range op.PathExamples {
		if uuidPattern.MatchString(example) {
			example = w.id(example)
		}
		path = strings.ReplaceAll(path, "{"+name+"}", example)
	}
	return path
}

func operations(t testing.TB) []openapi.Operation {
	t.Helper()
	ops, err := openapi.Operations()
	require.NoError(t, err)
	return ops
}

// build puts every record of the world, in whatever order the references between them allow. tokenFor chooses who
// puts a noun; without a token it is left out.
func (w *world) build(s *service, tokenFor func(noun string) string) {
	s.t.Helper()
	w.put = map[string]string{}
	var waiting []openapi.Operation
	for _, op := range operations(s.t) {
		if op.Method == http.MethodPut && tokenFor(op.Noun) != "" {
			waiting = append(waiting, op)
		}
	}
	for len(waiting) > 0 {
		var later []openapi.Operation
		for _, op := range waiting {
			a := s.do(call{method: op.Method, path: w.path(op), token: tokenFor(op.Noun), body: w.text(string(op.RequestExample))})
			if a.status == http.StatusUnprocessableEntity && strings.Contains(string(a.body), "there is no such") {
				later = append(later, op)
				continue
			}
			require.Contains(s.t, []int{200, 201}, a.status, "%s of world %s: %s", op.ID, w.name, a.body)
			w.put[op.Noun] = w.path(op)
		}
		require.Less(s.t, len(later), len(waiting), "the examples of the contract do not form a whole: %v", later)
		waiting = later
	}
}

type ctx = context.Context

func everything(token string) func(string) string { return func(string) string { return token } }

func strconvItoa(n int) string { return strconv.Itoa(n) }

func faultText(faults any) string {
	text, err := json.Marshal(faults)
	if err != nil {
		return err.Error()
	}
	return string(text)
}

// pathOf gives an operation's path with the contract's own examples in it.
func pathOf(op openapi.Operation) string {
	path := op.Path
	for name, example := range op.PathExamples {
		path = strings.ReplaceAll(path, "{"+name+"}", example)
	}
	return path
}
