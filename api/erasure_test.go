package api_test

import (
	"archive/zip"
	"bytes"
	"encoding/json"
	"io"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"cagework/domain"
	"cagework/openapi"
)

// unzipped gives the files of an answer that is a zip file.
func (a answer) unzipped() map[string]string {
	a.t.Helper()
	require.Equal(a.t, "application/zip", a.header.Get("Content-Type"))
	require.Equal(a.t, "no-store", a.header.Get("Cache-Control"))
	z, err := zip.NewReader(bytes.NewReader(a.body), int64(len(a.body)))
	require.NoError(a.t, err)
	files := map[string]string{}
	for _, f := range z.File {
		r, err := f.Open()
		require.NoError(a.t, err)
		text, err := io.ReadAll(r)
		require.NoError(a.t, err)
		files[f.Name] = string(text)
	}
	return files
}

func listed(t *testing.T, text string) []map[string]any {
	t.Helper()
	var list []map[string]any
	require.NoError(t, json.Unmarshal([]byte(text), &list), text)
	return list
}

func TestAPersonIsHandedOverAndErased(t *testing.T) {
	t.Parallel()
	s := newService(t)
	w := &world{name: "leaving", seed: s.program}
	w.build(s, everything(s.director))
	goalie, shot, block := w.put["goalie"], w.put["shot"], w.put["assignment"]
	name, _ := s.do(call{method: http.MethodGet, path: goalie}).object()["name"].(string)
	s.do(call{method: http.MethodPatch, path: block, ifMatch: "*", body: `{"status":"dropped","reason":"flinches at high balls"}`}).want(200)
	s.do(call{method: http.MethodPatch, path: w.put["reading"], ifMatch: "*", body: `{"how_read":"live"}`}).want(200)

	goalieID, err := domain.ParseID(idIn(goalie))
	require.NoError(t, err)
	looked := domain.NewAccess(domain.Actor{ProgramID: s.program}, time.Now(), domain.AccessRead, domain.NounWeek).On(domain.NounGoalie, goalieID)
	require.NoError(t, s.stores.Accesses.Write(t.Context(), s.program, []domain.Access{looked}))
	files := s.do(call{method: http.MethodGet, path: goalie + "/export"}).want(200).unzipped()
	require.Equal(t, looked.ID.String(), listed(t, files["accesses.json"])[0]["id"])
	require.Equal(t, name, listed(t, files["goalie.json"])[0]["name"])
	require.Equal(t, idIn(shot), listed(t, files["shots.json"])[0]["id"])
	require.Equal(t, "flinches at high balls", listed(t, files["assignments.json"])[0]["reason"])
	for file, text := range files {
		if strings.HasSuffix(file, ".json") {
			if file != "viewers.json" {
				require.NotEmpty(t, listed(t, text), file)
			}
			require.Contains(t, files["README.txt"], file+": ")
		}
	}
	require.Equal(t, strings.Count(files["shots.csv"], "\n"), 1+len(listed(t, files["shots.json"])))
	require.Contains(t, files["shots.csv"], idIn(shot))
	told := map[any]bool{}
	for _, c := range listed(t, files["changes.json"]) {
		told[c["record_id"]] = true
	}
	for _, noun := range []string{"goalie", "roster_spell", "stint", "shot", "reading", "clear", "assignment", "practice_log"} {
		require.True(t, told[idIn(w.put[noun])], noun)
	}
	require.False(t, told[idIn(w.put["team"])])

	ask := func(body string) answer {
		return s.do(call{method: http.MethodPost, path: goalie + "/erasure", body: body})
	}
	var plan struct {
		Digest  *string         `json:"digest"`
		Erasure *domain.Erasure `json:"erasure"`
	}
	ask(`{"dry_run":true}`).want(200).into(&plan)
	require.Nil(t, plan.Erasure)
	require.Contains(t, s.do(call{method: http.MethodGet, path: goalie}).want(200).object()["name"], name, "a dry run writes nothing")
	really := `{"dry_run":false,"digest":"` + *plan.Digest + `"}`
	done := ask(really).want(200)
	require.NotContains(t, string(done.body), name)
	require.Equal(t, string(done.body), string(ask(really).want(200).body), "sent again")
	require.NotContains(t, string(ask(`{"dry_run":true}`).want(200).body), `"erasure":null`)
	require.Contains(t, string(s.do(call{method: http.MethodGet, path: "/v1/erasures"}).want(200).body), idIn(goalie))

	for _, path := range []string{goalie, block, shot, "/v1/changes/" + idIn(goalie), "/v1/changes/" + idIn(block), "/v1/goalies",
		"/v1/assignments", goalie + "/lines", goalie + "/weeks/2026-W15", "/v1/program/weeks/2026-W15"} {
		body := string(s.do(call{method: http.MethodGet, path: path}).want(200).body)
		require.NotContains(t, body, name, path)
		require.NotContains(t, body, "flinches", path)
	}
	files = s.do(call{method: http.MethodGet, path: goalie + "/export"}).want(200).unzipped()
	for file, text := range files {
		require.NotContains(t, text, name, file)
		require.NotContains(t, text, "flinches", file)
	}
	changes := listed(t, files["changes.json"])
	erased := 0
	for _, c := range changes {
		if c["op"] == "erase" {
			erased++
		}
	}
	require.Equal(t, 2, erased, "the goalie and the assignment are told erased")
	late := s.do(call{method: http.MethodPut, path: goalie, body: w.text(string(operationCalled(t, "putGoalie").RequestExample))}).want(409)
	require.Contains(t, string(late.body), `"/problems/erased"`)
	s.do(call{method: http.MethodPost, path: "/v1/changes/" + idIn(goalie) + "/undo", ifMatch: s.lastChange(goalie), body: `{}`}).want(409)

	member := s.do(call{method: http.MethodGet, path: w.put["member"] + "/export"}).want(200).unzipped()
	require.Len(t, listed(t, member["member.json"]), 1)
	require.NotContains(t, member["tokens.json"], "sha256")
	require.Contains(t, member, "writes.json")
	require.Contains(t, member, "accesses.json")
	require.Contains(t, string(s.do(call{method: http.MethodPost, path: w.put["member"] + "/erasure", ifMatch: "*", body: `{"dry_run":false}`}).
		want(200).body), `"noun":"token"`)
	s.do(call{method: http.MethodGet, path: w.put["token"]}).want(404)
}

func operationCalled(t *testing.T, id string) openapi.Operation {
	t.Helper()
	for _, op := range operations(t) {
		if op.ID == id {
			return op
		}
	}
	t.Fatalf("the contract has no %s", id)
	return openapi.Operation{}
}
