package api

import (
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// anything is a record of any members, so that the whole of RFC 7396 can be tried.
type anything = map[string]any

// TestTheExamplesOfRFC7396: its appendix A, those of an object patched by an object, which is all that a record can meet.
func TestTheExamplesOfRFC7396(t *testing.T) {
	for _, c := range [][3]string{
		{`{"a":"b"}`, `{"a":"c"}`, `{"a":"c"}`},
		{`{"a":"b"}`, `{"b":"c"}`, `{"a":"b","b":"c"}`},
		{`{"a":"b"}`, `{"a":null}`, `{}`},
		{`{"a":"b","b":"c"}`, `{"a":null}`, `{"b":"c"}`},
		{`{"a":["b"]}`, `{"a":"c"}`, `{"a":"c"}`},
		{`{"a":"c"}`, `{"a":["b"]}`, `{"a":["b"]}`},
		{`{"a":{"b":"c"}}`, `{"a":{"b":"d","c":null}}`, `{"a":{"b":"d"}}`},
		{`{"a":[{"b":"c"}]}`, `{"a":[1]}`, `{"a":[1]}`},
		{`{"e":null}`, `{"a":1}`, `{"e":null,"a":1}`},
		{`{}`, `{"a":{"bb":{"ccc":null}}}`, `{"a":{"bb":{}}}`},
	} {
		require.JSONEq(t, c[2], merged(t, c[0], c[1]), "%s patched by %s", c[0], c[1])
	}
}

func merged(t require.TestingT, target, patch string) string {
	var present anything
	require.NoError(t, json.Unmarshal([]byte(target), &present))
	after, err := merge[anything]([]byte(patch))(present)
	require.NoError(t, err)
	text, err := json.Marshal(after)
	require.NoError(t, err)
	return string(text)
}

// mergePatch is RFC 7396 section 2 as it is written there.
func mergePatch(target, patch any) any {
	members, is := patch.(map[string]any)
	if !is {
		return patch
	}
	out, was := target.(map[string]any)
	if !was {
		out = map[string]any{}
	}
	for name, value := range members {
		if value == nil {
			delete(out, name)
		} else {
			out[name] = mergePatch(out[name], value)
		}
	}
	return out
}

func TestMergingIsThatOfRFC7396(t *testing.T) {
	name := rapid.SampledFrom([]string{"a", "b", "c"})
	value := rapid.Custom(func(t *rapid.T) any { return drawn(t, name, 3) })
	rapid.Check(t, func(t *rapid.T) {
		target, err := json.Marshal(rapid.MapOf(name, value).Draw(t, "target"))
		require.NoError(t, err)
		patch, err := json.Marshal(rapid.MapOf(name, value).Draw(t, "patch"))
		require.NoError(t, err)
		var x, y any
		require.NoError(t, json.Unmarshal(target, &x))
		require.NoError(t, json.Unmarshal(patch, &y))
		want, err := json.Marshal(mergePatch(x, y))
		require.NoError(t, err)
		require.JSONEq(t, string(want), merged(t, string(target), string(patch)), "%s patched by %s", target, patch)
	})
}

// drawn gives any JSON value of so many levels at most.
func drawn(t *rapid.T, name *rapid.Generator[string], levels int) any {
	most := 4
	if levels == 0 {
		most = 2
	}
	switch rapid.IntRange(0, most).Draw(t, "kind") {
	case 0:
		return nil
	case 1:
		return float64(rapid.IntRange(0, 9).Draw(t, "number"))
	case 2:
		return rapid.SampledFrom([]string{"", "x"}).Draw(t, "text")
	case 3:
		list := []any{}
		for range rapid.IntRange(0, 2).Draw(t, "items") {
			list = append(list, drawn(t, name, levels-1))
		}
		return list
	}
	object := map[string]any{}
	for range rapid.IntRange(0, 3).Draw(t, "members") {
		object[name.Draw(t, "name")] = drawn(t, name, levels-1)
	}
	return object
}
