package api_test

import (
	"bytes"
	"compress/gzip"
	"encoding/json"
	"fmt"
	"maps"
	"net/url"
	"slices"
	"strings"

	"cagework/openapi"
)

// foulValues are JSON values, and texts that are none, which a reader of JSON, a check or a database might stumble over.
var foulValues = []string{
	"null", "true", "0", "-1", "-0", "-0.0", "1e400", "-1e400", "1e308", "5e-324", "1e-400", "0.1", "1.0", "1E2",
	"9223372036854775807", "9223372036854775808", "-9223372036854775809", "2147483648", "99999999999999999999999999",
	`""`, `" "`, `"\u0000"`, `"a\u0000b"`, `"\ud800"`, `"\udc00\ud800"`, `"\u202e"`, `"\u200b"`, `"\ufeff"`, `"\u0085"`,
	`"null"`, `"NaN"`, "NaN", "Infinity", "01", "+1", ".5", "0x10", "'a'", "undefined", "\"\xff\xfe\"", "\"\xc0\xaf\"",
	"\"\xed\xa0\x80\"", "\"\xf4\x90\x80\x80\"", `"\x"`, `"\u12"`, "\"\n\"", "{}", "[]", "[[]]", "[null]", `{"a":{}}`, `{"":0}`,
	`{"__proto__":1}`, `{"a":1,"a":2}`, `{"$ref":"#"}`, `"2026-02-30"`, `"0000-00-00"`, `"9999-12-31"`, `"10000-01-01"`, `"2026-1-1"`,
	`"-001-01-01"`, `"9999-12-31T23:59:59Z"`, `"2026-04-08T24:00:00Z"`, `"0000-01-01T00:00:00Z"`, `"2026-04-08t00:00:00z"`,
	`"2026-04-08T00:00:00.999999999999Z"`, `"2026-04-08T00:00:60Z"`, `"2026-04-08T00:00:00+24:00"`,
	`"00000000-0000-0000-0000-000000000000"`, `"ffffffff-ffff-ffff-ffff-ffffffffffff"`, `"{019ca6b1-dc00-7000-8000-000000000011}"`,
	`"019CA6B1-DC00-7000-8000-000000000011"`, `"019ca6b1dc0070008000000000000011"`, `"urn:uuid:019ca6b1-dc00-7000-8000-000000000011"`,
	`"'; DROP TABLE shots; --"`, `"=1+1"`, `"<script>alert(1)</script>"`, `"%s%n%x"`, `"{{.}}"`, `"../../etc/passwd"`, `"\\"`, `"$1"`,
	`"Local"`, `"America/../UTC"`, `"director"`, `"game"`, `"\t"`, `"a` + "\u2028" + `b"`,
}

// foulValue gives a value that has nothing to do with what is asked for; now and then a big one.
func (m *maker) foulValue() string {
	switch m.rng.IntN(40) {
	case 0:
		return `"` + strings.Repeat(pick(m, "x", "é", "\\u0041", "😀"), pick(m, 200, 2001, 20_000)) + `"`
	case 1:
		n := pick(m, 10, 100, 1_000, 9_999)
		return strings.Repeat("[", n) + strings.Repeat("]", n)
	case 2:
		n := pick(m, 10, 100, 1_000, 9_999)
		return strings.Repeat(`{"a":`, n) + "1" + strings.Repeat("}", n)
	case 3:
		return "[" + strings.TrimSuffix(strings.Repeat(pick(m, "0,", "null,", "{},", `"a",`), pick(m, 51, 501, 10_000)), ",") + "]"
	case 4:
		return m.manyMembers(pick(m, 51, 1_000, 10_000))
	case 5:
		return strings.Repeat("9", pick(m, 20, 400, 5_000))
	}
	return pick(m, foulValues...)
}

func (m *maker) manyMembers(n int) string {
	var b strings.Builder
	b.WriteString(`{"m":0`)
	for i := range n {
		fmt.Fprintf(&b, `,"m%d":%s`, i, pick(m, "null", "1", "{}"))
	}
	b.WriteString("}")
	return b.String()
}

// body makes a body for an operation that takes one.
func (m *maker) body(op openapi.Operation) []byte {
	schema := m.written(op)
	if op.Media[0] == "application/x-www-form-urlencoded" {
		return []byte(m.form(op))
	}
	var text string
	switch m.rng.IntN(10) {
	case 0:
		text = m.value(schema, "", 0)
	case 1:
		if m.foul > 0 {
			text = m.foulValue()
			break
		}
		fallthrough
	default:
		text = m.fromExample(op, schema)
	}
	if m.foul > 0 && m.chance(.25) {
		return m.broken(text)
	}
	return []byte(text)
}

// form makes the body of a form: the token of a member, or something near it.
func (m *maker) form(op openapi.Operation) string {
	value := url.QueryEscape(pick(m, m.round.tokens...))
	if m.chance(m.foul * 4) {
		value = pick(m, "", "cw_", "%", "%zz", "%00", "cw_wrong", "cw_example-only-not-a-secret", "a;b", strings.Repeat("x", 5000), "\xff")
	}
	names := []string{"token"}
	for name := range m.at(m.written(op), "properties") {
		names = append(names, name)
	}
	slices.Sort(names)
	text := pick(m, names...) + "=" + value
	if m.chance(m.foul) {
		text += pick(m, "&", "&token=", "&&&", ";token=x", "&nonsense=1", "\r\n", strings.Repeat("&a=b", 2000))
	}
	return text
}

// fromExample takes the example of an operation, put among the records of the round's world, and changes some members.
func (m *maker) fromExample(op openapi.Operation, schema node) string {
	text := m.round.world.text(string(op.RequestExample))
	var items []map[string]json.RawMessage
	var one map[string]json.RawMessage
	if json.Unmarshal([]byte(text), &items) == nil {
		for i := range items {
			m.fresh++
			items[i]["id"] = json.RawMessage(jsonOf(m.idFor("")))
		}
		if m.chance(m.edge) {
			for len(items) > 0 && len(items) < pick(m, 2, 30, 501) {
				items = append(items, maps.Clone(items[0]))
			}
		}
		var texts []string
		for _, item := range items {
			texts = append(texts, m.changed(item, m.at(schema, "items")))
		}
		return "[" + strings.Join(texts, ",") + "]"
	}
	if json.Unmarshal([]byte(text), &one) != nil {
		return text
	}
	return m.changed(one, schema)
}

// changed writes an object with some of its members changed, left out, added or made odd.
func (m *maker) changed(object map[string]json.RawMessage, schema node) string {
	properties := m.at(schema, "properties")
	names := slices.Sorted(maps.Keys(properties))
	if len(names) > 0 {
		for range m.rng.IntN(3) {
			name := pick(m, names...)
			object[name] = json.RawMessage(m.value(properties[name].(node), name, 1))
		}
	}
	if len(object) > 0 && m.chance(m.edge) {
		name := pick(m, slices.Sorted(maps.Keys(object))...)
		if m.chance(.5) {
			delete(object, name)
		} else {
			object[name] = json.RawMessage("null")
		}
	}
	var members []string
	for _, name := range slices.Sorted(maps.Keys(object)) {
		members = append(members, jsonOf(name)+":"+string(object[name]))
	}
	if m.chance(m.foul) {
		members = append(members, pick(m, `"nonsense":1`, `"nonsense":null`, `"":null`, `"Name":"x"`, `"id":null`, `"rev":1`,
			"\"\xff\":1", `"\u0000":1`, `"name":"a","name":"b"`, `"constructor":{}`, `"a/b~c":[{}]`))
	}
	if m.chance(m.foul) {
		m.rng.Shuffle(len(members), func(i, j int) { members[i], members[j] = members[j], members[i] })
	}
	return "{" + strings.Join(members, ",") + "}"
}

// broken spoils a text: what arrives is no longer what was meant.
func (m *maker) broken(text string) []byte {
	b := []byte(text)
	at := m.rng.IntN(len(b) + 1)
	switch m.rng.IntN(9) {
	case 0:
		return b[:at]
	case 1:
		return slices.Insert(b, at, pick(m, []byte("\xff"), []byte{0}, []byte(","), []byte("}"), []byte("\""), []byte("/*x*/"))...)
	case 2:
		if at < len(b) {
			b[at] ^= 1 << m.rng.IntN(8)
		}
		return b
	case 3:
		return append([]byte("\xef\xbb\xbf"), b...)
	case 4:
		return append(b, pick(m, "{}", "x", "\x00", " ", "\n\n", "]")...)
	case 5:
		return []byte("[" + text + "]")
	case 6:
		return bytes.Repeat([]byte(pick(m, " ", "[", "{\"a\":", "\x00", "\xff")), pick(m, 1, 1_000, 200_000))
	case 7:
		noise := make([]byte, m.rng.IntN(300))
		for i := range noise {
			noise[i] = byte(m.rng.UintN(256))
		}
		return noise
	}
	return []byte(strings.ToUpper(text))
}

// zipped compresses a body; now and then it is one that grows far beyond any limit, or is cut off.
func (m *maker) zipped(body []byte) []byte {
	var b bytes.Buffer
	w := gzip.NewWriter(&b)
	_, _ = w.Write(body)
	if m.chance(.05) {
		_, _ = w.Write(bytes.Repeat([]byte(" "), 20<<20))
	}
	_ = w.Close()
	if m.chance(.2) {
		return b.Bytes()[:m.rng.IntN(b.Len())]
	}
	return b.Bytes()
}
