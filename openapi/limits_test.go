package openapi_test

import (
	"encoding/json"
	"fmt"
	"maps"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/pb33f/libopenapi/datamodel/high/base"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.yaml.in/yaml/v3"

	"cagework/domain"
	"cagework/openapi"
)

// fieldsOf gives an empty value of each noun's fields, by the name of its schema.
var fieldsOf = map[string]func() domain.Fields{
	"Season":      blank[domain.SeasonFields],
	"Competition": blank[domain.CompetitionFields],
	"Team":        blank[domain.TeamFields],
	"Goalie":      blank[domain.GoalieFields],
	"RosterSpell": blank[domain.RosterSpellFields],
	"Member":      blank[domain.MemberFields],
	"Token":       blank[domain.TokenFields],
	"Game":        blank[domain.GameFields],
	"Stint":       blank[domain.StintFields],
	"Shot":        blank[domain.ShotFields],
	"Reading":     blank[domain.ReadingFields],
	"Target":      blank[domain.TargetFields],
	"Drill":       blank[domain.DrillFields],
	"Rule":        blank[domain.RuleFields],
	"Habit":       blank[domain.HabitFields],
	"Clear":       blank[domain.ClearFields],
	"View":        blank[domain.ViewFields],
	"Assignment":  blank[domain.AssignmentFields],
	"PracticeLog": blank[domain.PracticeLogFields],
	"Fit":         blank[domain.FitFields],
}

// blank gives a pointer to empty fields: JSON can be decoded into it, and it has their Check.
func blank[F domain.Fields]() domain.Fields {
	var f any = new(F)
	return f.(domain.Fields) //nolint:forcetypeassert // a pointer has the methods of what it points to
}

// jsonNames gives the JSON names of a struct in order, and those that may be null.
func jsonNames(t reflect.Type) (names, nulls []string) { return jsonNamesOf(t, nil, nil) }

func jsonNamesOf(t reflect.Type, names, nulls []string) (allNames, allNulls []string) {
	for f := range t.Fields() {
		if f.Anonymous {
			names, nulls = jsonNamesOf(f.Type, names, nulls)
			continue
		}
		name, option, _ := strings.Cut(f.Tag.Get("json"), ",")
		if name == "-" || !f.IsExported() {
			continue
		}
		names = append(names, name)
		if f.Type.Kind() == reflect.Pointer && option != "omitzero" { // nil is left out, so it is never null
			nulls = append(nulls, name)
		}
	}
	return names, nulls
}

// filled gives the fields of a noun's example with value at a place; absent{} takes the place out. The error is of
// decoding.
func filled(t *testing.T, noun string, at []string, value any) (domain.Fields, error) {
	t.Helper()
	var doc any
	require.NoError(t, json.Unmarshal(operation(t, "put"+noun).RequestExample, &doc))
	doc = set(suited(doc, noun, at[len(at)-1], value), at, value)
	body, err := json.Marshal(doc)
	require.NoError(t, err)
	f := fieldsOf[noun]()
	return f, json.Unmarshal(body, f)
}

// suited gives an example in which what is bound to a member beside it goes with a value of that member.
func suited(doc any, noun, name string, value any) any {
	switch noun + " " + name {
	case "PracticeLog live_shots":
		return set(doc, []string{"done", "0", "repetitions"}, domain.MaxShotsLogged)
	case "Drill soft_levels":
		return set(doc, []string{"ball"}, domain.BallLive)
	case "Rule after_sessions":
		if n, whole := value.(int); whole && n != 0 {
			return set(doc, []string{"after_drill_ids"}, []any{domain.NameID(domain.ID{}, "a drill")})
		}
	case "Rule minutes", "Rule repetitions", "Rule times_a_week":
		if value == 0 {
			doc = set(doc, []string{"drill_id"}, nil)
			for _, dose := range []string{"minutes", "repetitions", "times_a_week"} {
				doc = set(doc, []string{dose}, 0)
			}
		}
	}
	return doc
}

// faultsAt gives the faults that the domain finds at a pointer when the example of a noun holds value at a place.
func faultsAt(t *testing.T, noun, pointer string, at []string, value any) []string {
	t.Helper()
	f, err := filled(t, noun, at, value)
	require.NoError(t, err)
	var out []string
	for _, fault := range f.Check() {
		if fault.Pointer == pointer {
			out = append(out, fault.Detail)
		}
	}
	return out
}

func pointer(at []string) string { return "/" + strings.Join(at, "/") }

type absent struct{}

func set(doc any, at []string, value any) any {
	if len(at) == 0 {
		return value
	}
	switch doc := doc.(type) {
	case map[string]any:
		out := maps.Clone(doc)
		if _, drop := value.(absent); drop && len(at) == 1 {
			delete(out, at[0])
			return out
		}
		out[at[0]] = set(doc[at[0]], at[1:], value)
		return out
	case []any:
		if len(doc) == 0 {
			return []any{value}
		}
		out := slices.Clone(doc)
		out[0] = set(doc[0], at[1:], value)
		return out
	}
	panic(fmt.Sprintf("nothing at %v", at))
}

// TestLimitsAreTheDomains probes every field on both sides of every limit that the contract states, and far out
// where it states none: the domain's checks must draw the line at the same place.
func TestLimitsAreTheDomains(t *testing.T) {
	for noun := range fieldsOf {
		t.Run(noun, func(t *testing.T) {
			p := prober{t, noun, 0}
			p.object(component(t, noun+"Fields"), nil)
			assert.Positive(t, p.probes)
		})
	}
}

type prober struct {
	t      *testing.T
	noun   string
	probes int
}

func (p *prober) allows(at []string, value any) {
	p.probes++
	assert.Empty(p.t, faultsAt(p.t, p.noun, pointer(at), at, value), "%v = %.60v", at, value)
}

func (p *prober) refuses(at []string, value any) {
	p.probes++
	assert.NotEmpty(p.t, faultsAt(p.t, p.noun, pointer(at), at, value), "%v = %.60v", at, value)
}

func (p *prober) object(s *base.Schema, at []string) {
	for name, proxy := range s.Properties.FromOldest() {
		p.property(proxy.Schema(), slices.Concat(at, []string{name}))
	}
}

func (p *prober) property(s *base.Schema, at []string) {
	if len(s.OneOf) > 0 {
		s = s.OneOf[0].Schema() // a code or null
	}
	switch {
	case len(s.Enum) > 0:
		p.refuses(at, "no_such_code")
	case slices.Contains(s.Type, "integer"):
		p.allows(at, int(*s.Minimum))
		p.refuses(at, int(*s.Minimum)-1)
		p.allows(at, int(*s.Maximum))
		p.refuses(at, int(*s.Maximum)+1)
	case slices.Contains(s.Type, "number"):
		p.allows(at, *s.Minimum)
		p.refuses(at, *s.Minimum-0.001)
		p.allows(at, *s.Maximum)
		p.refuses(at, *s.Maximum+0.001)
	case slices.Contains(s.Type, "string"):
		p.text(s, at)
	case slices.Contains(s.Type, "array"):
		p.list(s, at)
	case slices.Contains(s.Type, "object"):
		p.habits(s, at)
	default:
		assert.Contains(p.t, s.Type, "boolean", "%v", at)
	}
}

func (p *prober) text(s *base.Schema, at []string) {
	switch {
	case s.Format != "":
		p.probes++
		_, err := filled(p.t, p.noun, at, "no such thing")
		assert.Error(p.t, err, "%v", at)
	case s.Pattern != "":
		assert.Equal(p.t, "^[a-z][a-z0-9_]{1,39}$", s.Pattern)
		p.allows(at, "a"+strings.Repeat("_", 39))
		p.refuses(at, "a"+strings.Repeat("_", 40))
		p.refuses(at, "a")
		p.refuses(at, "_a")
	default:
		p.allows(at, strings.Repeat("é", int(*s.MaxLength)))
		p.refuses(at, strings.Repeat("é", int(*s.MaxLength)+1))
		if s.MinLength == nil {
			p.allows(at, "")
		} else {
			assert.EqualValues(p.t, 1, *s.MinLength, "%v", at)
			p.refuses(at, "")
		}
	}
}

func (p *prober) list(s *base.Schema, at []string) {
	items := s.Items.A.Schema()
	p.refuses(at, nil)
	if s.MinItems == nil {
		p.allows(at, []any{})
	} else {
		assert.EqualValues(p.t, 1, *s.MinItems, "%v", at)
		p.refuses(at, []any{})
	}
	var one any = "019ca6b1-dc00-7000-8000-0000000000ff"
	var doc map[string]any
	require.NoError(p.t, json.Unmarshal(operation(p.t, "put"+p.noun).RequestExample, &doc))
	if list, _ := doc[at[0]].([]any); len(list) > 0 {
		one = list[0]
	}
	p.allows(at, slices.Repeat([]any{one}, int(*s.MaxItems)))
	p.refuses(at, slices.Repeat([]any{one}, int(*s.MaxItems)+1))

	first := slices.Concat(at, []string{"0"})
	unique := s.UniqueItems != nil && *s.UniqueItems
	twice := faultsAt(p.t, p.noun, pointer(at)+"/1", at, []any{one, one})
	if !strings.Contains(p.noun+pointer(at), "Target/rates") { // unique by code of play and level, said in words
		assert.Equal(p.t, unique, len(twice) > 0, "%v: %v", at, twice)
	}
	switch {
	case slices.Contains(items.Type, "object") && items.Properties.GetOrZero("field") != nil:
		p.refuses(first, map[string]any{"field": "no_such_field", "is": true})
		p.refuses(first, map[string]any{"field": "on_goal"})
		p.refuses(first, map[string]any{"field": "outcome", "in": []any{}})
		p.refuses(first, map[string]any{"field": "distance_m", "lt": 9, "gt": 3})
	case slices.Contains(items.Type, "object"):
		p.object(items, first)
	case len(items.Enum) > 0:
		p.refuses(first, "no_such_code")
	case items.MaxLength != nil:
		p.property(items, first)
	}
}

func (p *prober) habits(s *base.Schema, at []string) {
	answers := map[string]any{}
	for i := range int(*s.MaxProperties) {
		answers[fmt.Sprintf("habit_%d", i)] = "yes"
	}
	p.allows(at, answers)
	answers["one_more"] = "yes"
	p.refuses(at, answers)
	assert.EqualValues(p.t, 1, *s.MinProperties)
	p.refuses(at, map[string]any{})
	p.refuses(slices.Concat(at, []string{"held_ground"}), "maybe")
}

// TestRequired holds what a PUT must send: every field that can be neither null nor left to a default. What the domain
// misses when it is taken out is among them.
func TestRequired(t *testing.T) {
	raw := rawSchemas(t)
	for noun := range fieldsOf {
		fields := raw[noun+"Fields"]
		var want []string
		for _, name := range propertyNames(fields) {
			said := property(fields, name)
			_, defaults := said["default"]
			if !mayBeNull(said) && !defaults {
				want = append(want, name)
			} else if defaults {
				assert.Empty(t, faultsAt(t, noun, "/"+name, []string{name}, absent{}), "%s.%s has no default", noun, name)
			}
		}
		assert.Equal(t, want, requiredOf(fields), noun)
	}
}

// TestSchemasOfANounAgree holds the three schemas of a noun to each other and to the Go types.
func TestSchemasOfANounAgree(t *testing.T) {
	type shape struct{ fields, found reflect.Type }
	shapes := map[string]shape{
		"Program":     {reflect.TypeFor[domain.ProgramFields](), reflect.TypeFor[domain.None]()},
		"Season":      {reflect.TypeFor[domain.SeasonFields](), reflect.TypeFor[domain.None]()},
		"Competition": {reflect.TypeFor[domain.CompetitionFields](), reflect.TypeFor[domain.None]()},
		"Team":        {reflect.TypeFor[domain.TeamFields](), reflect.TypeFor[domain.None]()},
		"Goalie":      {reflect.TypeFor[domain.GoalieFields](), reflect.TypeFor[domain.None]()},
		"RosterSpell": {reflect.TypeFor[domain.RosterSpellFields](), reflect.TypeFor[domain.None]()},
		"Member":      {reflect.TypeFor[domain.MemberFields](), reflect.TypeFor[domain.None]()},
		"Token":       {reflect.TypeFor[domain.TokenFields](), reflect.TypeFor[domain.TokenFound]()},
		"Game":        {reflect.TypeFor[domain.GameFields](), reflect.TypeFor[domain.None]()},
		"Stint":       {reflect.TypeFor[domain.StintFields](), reflect.TypeFor[domain.StintFound]()},
		"Shot":        {reflect.TypeFor[domain.ShotFields](), reflect.TypeFor[domain.ShotFound]()},
		"Reading":     {reflect.TypeFor[domain.ReadingFields](), reflect.TypeFor[domain.ReadingFound]()},
		"Target":      {reflect.TypeFor[domain.TargetFields](), reflect.TypeFor[domain.None]()},
		"Drill":       {reflect.TypeFor[domain.DrillFields](), reflect.TypeFor[domain.None]()},
		"Rule":        {reflect.TypeFor[domain.RuleFields](), reflect.TypeFor[domain.RuleFound]()},
		"Habit":       {reflect.TypeFor[domain.HabitFields](), reflect.TypeFor[domain.None]()},
		"Clear":       {reflect.TypeFor[domain.ClearFields](), reflect.TypeFor[domain.ClearFound]()},
		"View":        {reflect.TypeFor[domain.ViewFields](), reflect.TypeFor[domain.ViewFound]()},
		"Assignment":  {reflect.TypeFor[domain.AssignmentFields](), reflect.TypeFor[domain.AssignmentFound]()},
		"PracticeLog": {reflect.TypeFor[domain.PracticeLogFields](), reflect.TypeFor[domain.None]()},
		"Fit":         {reflect.TypeFor[domain.FitFields](), reflect.TypeFor[domain.FitFound]()},
	}
	raw := rawSchemas(t)
	for noun, goTypes := range shapes {
		fields, fieldNulls := jsonNames(goTypes.fields)
		found, foundNulls := jsonNames(goTypes.found)
		all := slices.Concat([]string{"id"}, fields, found, []string{"rev"})

		record := raw[noun]
		assert.Equal(t, all, propertyNames(record), "%s: as the service writes it", noun)
		assert.Equal(t, all, requiredOf(record), "%s: responses hold every field", noun)
		var nulls []string
		for _, name := range all {
			if mayBeNull(property(record, name)) {
				nulls = append(nulls, name)
			}
		}
		assert.Equal(t, slices.Concat(fieldNulls, foundNulls), nulls, noun)

		if noun != "Program" {
			assert.Equal(t, fields, propertyNames(raw[noun+"Fields"]), noun)
			assert.Equal(t, false, raw[noun+"Fields"]["additionalProperties"], noun)
			for _, name := range fields {
				assert.Equal(t, without(property(raw[noun+"Fields"], name), "default"), property(record, name), "%s.%s", noun, name)
			}
		}
		patch, changes := raw[noun+"Patch"]
		assert.Equal(t, noun != "Token" && noun != "Fit", changes, "%s: only a token and a fit cannot be changed", noun)
		if !changes {
			continue
		}
		assert.Equal(t, fields, propertyNames(patch), noun)
		assert.Equal(t, false, patch["additionalProperties"], noun)
		assert.NotContains(t, patch, "required", noun)
		for _, name := range fields {
			if noun == "Reading" && name == "habits" || noun == "Program" && name == "judgement" {
				continue // its members may be null, which takes them out
			}
			assert.Equal(t, without(property(record, name), "description"), property(patch, name), "%s.%s", noun, name)
		}
	}
}

// TestSchemasOfABatchAgree: an item is an id and the fields of a shot, and is held to the same.
func TestSchemasOfABatchAgree(t *testing.T) {
	raw := rawSchemas(t)
	item, fields := raw["ShotItem"], raw["ShotFields"]
	assert.Equal(t, slices.Concat([]string{"id"}, propertyNames(fields)), propertyNames(item))
	assert.Equal(t, slices.Concat([]string{"id"}, requiredOf(fields)), requiredOf(item))
	assert.Equal(t, fields["additionalProperties"], item["additionalProperties"])
	for _, name := range propertyNames(fields) {
		assert.Equal(t, property(fields, name), property(item, name), name)
	}
	assert.Equal(t, domain.MaxBatch, raw["ShotBatch"]["maxItems"])
	assert.Equal(t, 1, raw["ShotBatch"]["minItems"])
	assert.Contains(t, model(t).Info.Description, fmt.Sprintf("up to %d shots", domain.MaxBatch))
}

// TestPartsAgree holds the parts of records and of a history to the types that are read and written.
func TestPartsAgree(t *testing.T) {
	raw := rawSchemas(t)
	for name, goType := range map[string]reflect.Type{
		"Warning":       reflect.TypeFor[domain.FieldError](),
		"PracticeDone":  reflect.TypeFor[domain.PracticeDone](),
		"TargetRate":    reflect.TypeFor[domain.TargetRate](),
		"BlockBaseline": reflect.TypeFor[domain.BlockBaseline](),
		"FrozenRate":    reflect.TypeFor[domain.FrozenRate](),
		"BetaPart":      reflect.TypeFor[domain.BetaPart](),
	} {
		names, nulls := jsonNames(goType)
		assert.Empty(t, nulls, name)
		assert.Equal(t, names, propertyNames(raw[name]), name)
		assert.Equal(t, names, requiredOf(raw[name]), name)
	}
	names, nulls := jsonNames(reflect.TypeFor[domain.Change]())
	assert.Equal(t, names, propertyNames(raw["Change"]))
	assert.Equal(t, names, requiredOf(raw["Change"]))
	nulls = append(nulls, "before", "before_found") // a creation had nothing before
	for _, name := range names {
		assert.Equal(t, slices.Contains(nulls, name), mayBeNull(property(raw["Change"], name)), name)
	}
}

// TestPagingIsTheDomains holds the page limits to the domain's.
func TestPagingIsTheDomains(t *testing.T) {
	limit := model(t).Components.Parameters.GetOrZero("Limit")
	assert.Equal(t, fmt.Sprint(domain.DefaultLimit), limit.Schema.Schema().Default.Value)
	assert.Contains(t, limit.Description, fmt.Sprintf("More than %d is taken as %d.", domain.MaxLimit, domain.MaxLimit))
}

// TestTimeZoneAndUnits probes the program, which has a patch only.
func TestTimeZoneAndUnits(t *testing.T) {
	s := component(t, "ProgramPatch")
	most := int(*s.Properties.GetOrZero("name").Schema().MaxLength)
	good := domain.ProgramFields{Name: strings.Repeat("é", most), TimeZone: "Europe/Oslo", Units: "metric"}
	assert.Empty(t, good.Check())
	long, nowhere, inches := good, good, good
	long.Name += "é"
	nowhere.TimeZone = ""
	inches.Units = "cubits"
	assert.Len(t, long.Check(), 1)
	assert.Len(t, nowhere.Check(), 1)
	assert.Len(t, inches.Check(), 1)
}

// TestBoundsAreTheDomains holds each bound that a program may set to the domain: its range, the service's own value that
// is told of it, and that the domain draws the line where the contract does.
func TestBoundsAreTheDomains(t *testing.T) {
	raw := rawSchemas(t)
	names, nulls := jsonNames(reflect.TypeFor[domain.JudgementSettings]())
	assert.Equal(t, names, nulls, "each may be left to the service")
	assert.Equal(t, names, propertyNames(raw["JudgementSettings"]))
	assert.Equal(t, names, requiredOf(raw["JudgementSettings"]))
	assert.Equal(t, names, propertyNames(raw["JudgementPatch"]))
	assert.NotContains(t, raw["JudgementPatch"], "required")
	assert.Equal(t, false, raw["JudgementPatch"]["additionalProperties"])
	assert.True(t, mayBeNull(property(raw["ProgramPatch"], "judgement")))
	require.Len(t, domain.BoundList, len(names))
	for i, b := range domain.BoundList {
		require.Equal(t, names[i], b.Name)
		said := property(raw["JudgementSettings"], b.Name)
		assert.Equal(t, without(said, "description"), property(raw["JudgementPatch"], b.Name), b.Name)
		assert.Regexp(t, fmt.Sprintf(`From %g to %g; null: the service's own, %g\.$`, b.Least, b.Most, b.Default), said["description"], b.Name)
		s := component(t, "JudgementPatch").Properties.GetOrZero(b.Name).Schema()
		assert.InDelta(t, b.Least, *s.Minimum, 0, b.Name)
		assert.InDelta(t, b.Most, *s.Maximum, 0, b.Name)
		for value, refused := range map[float64]bool{b.Least: false, b.Most: false, b.Least - 0.001: true, b.Most + 0.001: true} {
			f := domain.ProgramFields{Name: "A", TimeZone: "Europe/Oslo", Units: "metric"}
			body, err := json.Marshal(map[string]float64{b.Name: value})
			require.NoError(t, err)
			require.NoError(t, json.Unmarshal(body, &f.Judgement))
			outOfRange := slices.ContainsFunc(f.Check(), func(e domain.FieldError) bool {
				return e.Pointer == "/judgement/"+b.Name && strings.HasPrefix(e.Detail, "must be from")
			})
			assert.Equal(t, refused, outOfRange, "%s = %v", b.Name, value)
		}
	}
}

func component(t *testing.T, name string) *base.Schema {
	t.Helper()
	proxy := model(t).Components.Schemas.GetOrZero(name)
	require.NotNil(t, proxy, name)
	return proxy.Schema()
}

// rawSchemas gives the schemas as they are written; "properties" is a list of single entries to keep the order.
func rawSchemas(t *testing.T) map[string]map[string]any {
	t.Helper()
	var doc struct {
		Components struct {
			Schemas map[string]map[string]yaml.Node `yaml:"schemas"`
		} `yaml:"components"`
	}
	require.NoError(t, yaml.Unmarshal(openapi.YAML, &doc))
	out := map[string]map[string]any{}
	for name, parts := range doc.Components.Schemas {
		out[name] = map[string]any{}
		for key, node := range parts {
			if key == "properties" {
				var list []propertyEntry
				for i := 0; i < len(node.Content); i += 2 {
					entry := propertyEntry{name: node.Content[i].Value}
					require.NoError(t, node.Content[i+1].Decode(&entry.schema))
					list = append(list, entry)
				}
				out[name][key] = list
				continue
			}
			var value any
			require.NoError(t, node.Decode(&value))
			out[name][key] = value
		}
	}
	return out
}

type propertyEntry struct {
	name   string
	schema map[string]any
}

func propertyNames(schema map[string]any) []string {
	var names []string
	list, _ := schema["properties"].([]propertyEntry)
	for _, p := range list {
		names = append(names, p.name)
	}
	return names
}

func property(schema map[string]any, name string) map[string]any {
	list, _ := schema["properties"].([]propertyEntry)
	for _, p := range list {
		if p.name == name {
			return p.schema
		}
	}
	return nil
}

func requiredOf(schema map[string]any) []string {
	var names []string
	list, _ := schema["required"].([]any)
	for _, name := range list {
		names = append(names, fmt.Sprint(name))
	}
	return names
}

func mayBeNull(schema map[string]any) bool {
	types, _ := schema["type"].([]any)
	either, _ := schema["oneOf"].([]any)
	return slices.Contains(types, any("null")) ||
		slices.ContainsFunc(either, func(s any) bool { return reflect.DeepEqual(s, map[string]any{"type": "null"}) })
}

func without(schema map[string]any, key string) map[string]any {
	out := maps.Clone(schema)
	delete(out, key)
	return out
}

// eachMapping calls f with every mapping of the document: where it is, its keys, and the text of a key's value.
func eachMapping(t *testing.T, f func(at string, keys []string, value func(string) string)) {
	t.Helper()
	var doc yaml.Node
	require.NoError(t, yaml.Unmarshal(openapi.YAML, &doc))
	var walk func(at string, n *yaml.Node)
	walk = func(at string, n *yaml.Node) {
		switch n.Kind {
		case yaml.DocumentNode:
			walk(at, n.Content[0])
		case yaml.SequenceNode:
			for _, item := range n.Content {
				walk(at, item)
			}
		case yaml.MappingNode:
			var keys []string
			values := map[string]string{}
			for i := 0; i < len(n.Content); i += 2 {
				key, value := n.Content[i].Value, n.Content[i+1]
				keys = append(keys, key)
				values[key] = value.Value
				for _, item := range value.Content {
					values[key] += " " + item.Value
				}
				walk(at+"/"+key, value)
			}
			f(at, keys, func(key string) string { return values[key] })
		}
	}
	walk("", &doc)
}
