package domain

import (
	"encoding/json"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

var anyID = rapid.Custom(func(t *rapid.T) ID {
	return ID(rapid.SliceOfN(rapid.Byte(), 16, 16).Draw(t, "bytes"))
})

// The DNS namespace is RFC 9562 section 6.6; the example is its appendix A.4.
func TestNameIDAsInTheStandard(t *testing.T) {
	dns := MustParseID("6ba7b810-9dad-11d1-80b4-00c04fd430c8")
	assert.Equal(t, "2ed6657d-e927-568b-95e1-2665a8aea6a2", NameID(dns, "www.example.com").String())
}

func TestNewIDIsVersion7(t *testing.T) {
	at := time.UnixMilli(0x017F22E279B0) // the instant of RFC 9562 appendix A.6
	a, b := NewID(at), NewID(at)
	assert.True(t, strings.HasPrefix(a.String(), "017f22e2-79b0-7"), a)
	assert.EqualValues(t, 2, a[8]>>6, "variant 10")
	assert.NotEqual(t, a, b)
	assert.Less(t, a.String(), NewID(at.Add(time.Millisecond)).String(), "later ids sort later")
}

func TestParseID(t *testing.T) {
	id, err := ParseID("2ED6657D-E927-568B-95E1-2665A8AEA6A2")
	require.NoError(t, err)
	assert.Equal(t, "2ed6657d-e927-568b-95e1-2665a8aea6a2", id.String())
	for _, bad := range []string{
		"", "x", "2ed6657de927568b95e12665a8aea6a2", "{2ed6657d-e927-568b-95e1-2665a8aea6a2}",
		"2ed6657d-e927-568b-95e1-2665a8aea6a", "2ed6657d-e927-568b-95e1-2665a8aea6ag",
		"2ed6657d+e927-568b-95e1-2665a8aea6a2", "2ed6657d-e927-568b-95e1-2665a8aea6a2 ",
	} {
		_, err := ParseID(bad)
		assert.Error(t, err, bad)
		assert.Error(t, json.Unmarshal([]byte(`"`+bad+`"`), new(ID)), bad)
	}
	assert.Panics(t, func() { MustParseID("x") })
	assert.True(t, ID{}.IsZero())
	assert.False(t, id.IsZero())
}

func TestIDRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		id := anyID.Draw(t, "id")
		raw, err := json.Marshal(id)
		require.NoError(t, err)
		var back ID
		require.NoError(t, json.Unmarshal(raw, &back))
		assert.Equal(t, id, back)
	})
}
