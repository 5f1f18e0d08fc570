package openapi_test

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"

	"github.com/pb33f/libopenapi"
	validator "github.com/pb33f/libopenapi-validator"
	v3 "github.com/pb33f/libopenapi/datamodel/high/v3"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"cagework/domain"
	"cagework/domain/field"
	"cagework/domain/judgement"
	"cagework/domain/summary"
	"cagework/openapi"
)

// built is the model of the document, made once: tests only read it.
var built = sync.OnceValues(func() (*v3.Document, error) {
	doc, err := libopenapi.NewDocument(openapi.YAML)
	if err != nil {
		return nil, err
	}
	m, err := doc.BuildV3Model()
	if err != nil {
		return nil, err
	}
	return &m.Model, nil
})

func model(t *testing.T) *v3.Document {
	t.Helper()
	m, err := built()
	require.NoError(t, err)
	return m
}

// eachOperation calls f with every operation and a name for messages.
func eachOperation(m *v3.Document, f func(name string, item *v3.PathItem, op *v3.Operation)) {
	for path, item := range m.Paths.PathItems.FromOldest() {
		for method, op := range item.GetOperations().FromOldest() {
			f(method+" "+path, item, op)
		}
	}
}

func TestDocumentIsValid(t *testing.T) {
	doc, err := libopenapi.NewDocument(openapi.YAML)
	require.NoError(t, err)
	v, errs := validator.NewValidator(doc)
	require.Empty(t, errs)
	ok, faults := v.ValidateDocument()
	for _, f := range faults {
		for _, s := range f.SchemaValidationErrors {
			t.Logf("line %d: %s", s.Line, s.Reason)
		}
	}
	assert.True(t, ok, "%v", faults)
	assert.Equal(t, "3.1.1", model(t).Version)
}

func TestOperationIDsAreUniqueAndStartWithAVerb(t *testing.T) {
	verbs := []string{"list", "get", "put", "patch", "remove", "sign", "undo", "map", "make", "erase"}
	seen := map[string]string{}
	eachOperation(model(t), func(name string, _ *v3.PathItem, op *v3.Operation) {
		assert.NotContains(t, seen, op.OperationId, name)
		seen[op.OperationId] = name
		assert.True(t, slices.ContainsFunc(verbs, func(verb string) bool {
			return strings.HasPrefix(op.OperationId, verb)
		}), "%s: %s", name, op.OperationId)
		assert.NotEmpty(t, op.Summary, name)
	})
	require.NotEmpty(t, seen)
}

// Some linters and readers do not count a default: each operation names at least one refusal, and one answer for the
// rest, all in the one form.
func TestRefusalsAreProblems(t *testing.T) {
	eachOperation(model(t), func(name string, _ *v3.PathItem, op *v3.Operation) {
		refusals := 0
		check := func(status string, r *v3.Response) {
			if op.OperationId == "signIn" && (status == "401" || status == "429") {
				return // the form again, for people
			}
			media := slices.Collect(r.Content.KeysFromOldest())
			if assert.Equal(t, []string{"application/problem+json"}, media, "%s %s", name, status) {
				ref := r.Content.GetOrZero(media[0]).Schema.GetReference()
				assert.Equal(t, "#/components/schemas/Problem", ref, "%s %s", name, status)
			}
		}
		for status, r := range op.Responses.Codes.FromOldest() {
			if strings.HasPrefix(status, "4") {
				refusals++
				check(status, r)
			}
		}
		assert.Positive(t, refusals, name)
		if assert.NotNil(t, op.Responses.Default, name) {
			check("default", op.Responses.Default)
		}
	})
}

// TestProblemTable holds the table of the introduction, and the examples of problems, to the domain's codes.
func TestProblemTable(t *testing.T) {
	m := model(t)
	statuses := map[string]int{}
	for line := range strings.Lines(m.Info.Description) {
		cells := strings.Split(line, " | ")
		if code, ok := strings.CutPrefix(cells[0], "| `"); ok && len(cells) == 3 {
			status, err := strconv.Atoi(cells[1])
			require.NoError(t, err, line)
			statuses[strings.TrimSuffix(code, "`")] = status
		}
	}
	var listed []string
	for code := range statuses {
		listed = append(listed, code)
	}
	assert.ElementsMatch(t, constants(t, "../domain", "Code"), listed)

	for name, r := range m.Components.Responses.FromOldest() {
		var example struct {
			Type   string `yaml:"type"`
			Status int    `yaml:"status"`
		}
		require.NoError(t, r.Content.GetOrZero("application/problem+json").Example.Decode(&example), name)
		code, ok := strings.CutPrefix(example.Type, "/problems/")
		assert.True(t, ok, "%s: %s", name, example.Type)
		assert.Equal(t, statuses[strings.ReplaceAll(code, "-", "_")], example.Status, name)
		assert.NotZero(t, example.Status, name)
	}
	eachOperation(m, func(name string, _ *v3.PathItem, op *v3.Operation) {
		for status, r := range op.Responses.Codes.FromOldest() {
			if r.Content == nil {
				continue
			}
			if problem := r.Content.GetOrZero("application/problem+json"); problem != nil {
				var example struct {
					Status int `yaml:"status"`
				}
				require.NoError(t, problem.Example.Decode(&example))
				assert.Equal(t, status, strconv.Itoa(example.Status), name)
			}
		}
	})
}

// TestCodesAreTheDomains holds every list of codes to the domain's, and each code to having its meaning told.
func TestCodesAreTheDomains(t *testing.T) {
	want := map[string][]string{
		"CodeOfPlay": words(domain.CodesOfPlay), "Level": words(domain.Levels), "GameKind": words(domain.GameKinds),
		"Role": words(domain.Roles), "Availability": words(domain.Availabilities), "Hand": words(domain.Hands),
		"Answer": words(domain.Answers), "HowRead": words(domain.HowReads), "Ball": words(domain.Balls),
		"Effort": words(domain.Efforts), "State": words(domain.States), "ClearLine": words(domain.ClearLines),
		"OwnGoalRule": words(domain.OwnGoalRules), "SeasonPart": words(domain.SeasonParts), "Units": words(domain.UnitsList),
		"Outcome": words(domain.Outcomes), "Phase": words(domain.Phases), "Strength": words(domain.Strengths),
		"Arrival": words(domain.Arrivals), "ReleaseStyle": words(domain.ReleaseStyles), "Band": words(domain.Bands),
		"Feet": words(domain.FeetList), "Side": words(domain.Sides), "SaveBy": words(domain.SaveBys),
		"Rebound": words(domain.Rebounds), "Outlet": words(domain.Outlets), "CageHow": words(domain.CageHows),
		"CompetitionMeasure": domain.CompetitionMeasures, "ViewPlane": words(domain.ViewPlanes),
		"ClickRefusalCode": words(domain.ClickRefusalCodes), "ClearResult": words(domain.ClearResults),
		"AssignmentStatus": words(domain.AssignmentStatuses), "PutStatus": words(domain.PutStatuses),
		"ErasedNoun": words(domain.ErasedNouns),
		"ChangeOp":   words(domain.ChangeOps), "AccessAction": words(domain.AccessActions), "RecordNoun": recordNouns(t),
		"Area": words(field.Areas), "BallSide": words(field.BallSides), "PipePlace": words(field.PipePlaces),
		"PlaneChange":     words(field.PlaneChanges),
		"PostHow":         constants(t, "../domain/field", "PostHow"),
		"LinesBy":         constants(t, "../domain/summary", "LinesBy"),
		"Gate":            constants(t, "../domain/planning", "Gate"),
		"Verdict":         words(judgement.Verdicts),
		"SignalState":     words(judgement.SignalStates),
		"SignalBaseline":  {judgement.ByExpectedSaves, judgement.ByOwnRate},
		"WatchNote":       {"missed", "made"},
		"ReadinessStatus": {"ready", "reads_only", "not_ready"},
	}
	got := map[string][]string{}
	for name, proxy := range model(t).Components.Schemas.FromOldest() {
		schema := proxy.Schema()
		for _, code := range schema.Enum {
			got[name] = append(got[name], code.Value)
			assert.Contains(t, schema.Description, fmt.Sprintf("- `%s`: ", code.Value), name)
		}
		if len(schema.Enum) > 0 {
			assert.Equal(t, len(schema.Enum), strings.Count(schema.Description, "\n- `"), name)
		}
	}
	assert.Equal(t, want, got)
}

// recordNouns gives the nouns that have a history, in the domain's order: those that somebody writes.
// The tables of weeks begin as their examples say.
func TestTablesHaveTheColumnsOfTheContract(t *testing.T) {
	var goalie, group strings.Builder
	require.NoError(t, summary.GoalieWeekCSV(&goalie, summary.GoalieWeek{}))
	require.NoError(t, summary.GroupWeekCSV(&group, summary.GroupWeek{}))
	want := map[string]string{"getGoalieWeek": goalie.String(), "getTeamWeek": group.String(), "getProgramWeek": group.String()}
	got := map[string]string{}
	eachOperation(model(t), func(_ string, _ *v3.PathItem, op *v3.Operation) {
		if ok := op.Responses.Codes.GetOrZero("200"); ok != nil {
			if table := ok.Content.GetOrZero("text/csv"); table != nil {
				var example string
				require.NoError(t, table.Example.Decode(&example))
				got[op.OperationId] = strings.ReplaceAll(example, "\r\n", "\n")
			}
		}
	})
	assert.Equal(t, want, got)
}

func recordNouns(t *testing.T) []string {
	t.Helper()
	kept := map[string]bool{}
	for _, op := range operations(t) {
		kept[op.Noun] = kept[op.Noun] || op.Method == "PUT" || op.Method == "PATCH" || op.Method == "DELETE"
	}
	return slices.DeleteFunc(constants(t, "../domain", "Noun"), func(noun string) bool { return !kept[noun] })
}

// TestDialect keeps out what some generator of clients cannot read.
func TestDialect(t *testing.T) {
	banned := []string{
		"nullable", "prefixItems", "if", "then", "else", "patternProperties", "allOf", "dependentSchemas",
		"unevaluatedProperties", "x-go-type",
	}
	eachMapping(t, func(at string, keys []string, value func(string) string) {
		if strings.Contains(at, "/examples/") || strings.HasSuffix(at, "/properties") {
			return
		}
		for _, word := range banned {
			assert.NotContains(t, keys, word, at)
		}
		if strings.Contains(value("type"), "number") {
			assert.Equal(t, "double", value("format"), at)
		}
		if slices.Contains(keys, "enum") {
			assert.Regexp(t, `^/components/schemas/\w+$`, at, "a list of codes is a schema with a name")
		}
	})
}

// constants gives the values of the string constants of a type, from the source of its package.
func constants(t *testing.T, dir, typeName string) []string {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(dir, "*.go"))
	require.NoError(t, err)
	var values []string
	for _, file := range files {
		source, err := os.ReadFile(file)
		require.NoError(t, err)
		parsed, err := parser.ParseFile(token.NewFileSet(), file, source, parser.SkipObjectResolution)
		require.NoError(t, err)
		ast.Inspect(parsed, func(n ast.Node) bool {
			spec, ok := n.(*ast.ValueSpec)
			if !ok {
				return true
			}
			if name, ok := spec.Type.(*ast.Ident); ok && name.Name == typeName && len(spec.Values) == 1 {
				if literal, ok := spec.Values[0].(*ast.BasicLit); ok {
					value, err := strconv.Unquote(literal.Value)
					require.NoError(t, err)
					values = append(values, value)
				}
			}
			return true
		})
	}
	require.NotEmpty(t, values, typeName)
	return values
}

func words[T ~string](codes []T) []string {
	out := make([]string, len(codes))
	for i, c := range codes {
		out[i] = string(c)
	}
	return out
}
