package summary

import (
	"bytes"
	"encoding/csv"
	"errors"
	"slices"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"cagework/domain"
)

func TestTheRatesAsATable(t *testing.T) {
	var b bytes.Buffer
	require.NoError(t, GoalieWeekCSV(&b, OfGoalie(spring(domain.Full).week("2026-W15", 30))))
	rows, err := csv.NewReader(&b).ReadAll()
	require.NoError(t, err)
	require.Len(t, rows, 1+len(targets))
	assert.Equal(t, csvHeader, rows[0])
	assert.Equal(t, []string{
		"low_save", "Low-shot save rate", "mens_field", "high_school", "2026-03-02", "2026-04-12", "9", "31", "0",
		"0.2903", "0.1610", "0.4659", "0.5000", "0.9848", "clear_gap", "true", "true", "false",
		"0.3211", "0.2214", "0.4247", "0.1794", "3", "0.4961", "0.8500", "", "too_early", "31", "", "0.1324", "2026-W11",
	}, rows[4])
	assert.Equal(t, []string{"0", "0", "52", "", "", "", "0.8000", "", "no_data", "false", "false", "false", "", "", "", "", "", "", "", "", "too_early", "0", "", "", ""}, rows[2][6:], "what is null is empty")
}

func TestAChangeInTheTable(t *testing.T) {
	v := OfGoalie(turning(20, 14).week("2026-W14", 30))
	want := lowRate(t, v).Signal
	var b bytes.Buffer
	require.NoError(t, GoalieWeekCSV(&b, v))
	rows, err := csv.NewReader(&b).ReadAll()
	require.NoError(t, err)
	row := rows[slices.IndexFunc(rows, func(r []string) bool { return r[0] == "low_save" })]
	cell := func(name string) string { return row[slices.Index(csvHeader, name)] }
	assert.Equal(t, []string{"falling", "160", want.RaisedOn.String(), want.ChangeAfter.String()},
		[]string{cell("signal"), cell("signal_tries"), cell("raised_on"), cell("change_after")})
	few := OfGoalie(spring(domain.Full).week("2026-W15", 30))
	i := slices.IndexFunc(few.Plays[0].Rates, func(r Rate) bool { return r.Likely != nil && r.Likely.MoreTries != nil })
	require.GreaterOrEqual(t, i, 0)
	r := few.Plays[0].Rates[i]
	assert.Equal(t, strconv.Itoa(*r.Likely.MoreTries), csvRow(r)[slices.Index(csvHeader, "more_tries")])
}

func TestACellIsNoFormula(t *testing.T) {
	for in, want := range map[string]string{
		"=1+1": "'=1+1", "+1": "'+1", "-1": "'-1", "@x": "'@x", "\t=1": "'\t=1", "a=1": "a=1", "": "", "'=": "'=",
		"\n=1": "'\n=1", "\r\n=1": "'\r\n=1", "\uff1d1": "'\uff1d1", "\uff0b1": "'\uff0b1", "\uff0d1": "'\uff0d1", "\uff20x": "'\uff20x",
	} {
		assert.Equal(t, want, plainCell(in), "%q", in)
	}
	v := GoalieWeek{Plays: []WeekPlay{{Rates: []Rate{{Name: `=HYPERLINK("x","y")`}}}}}
	var b bytes.Buffer
	require.NoError(t, GoalieWeekCSV(&b, v))
	assert.Contains(t, b.String(), `"'=HYPERLINK(""x"",""y"")"`)
}

type broken struct{}

func (broken) Write([]byte) (int, error) { return 0, errors.New("no space") }

func TestATableThatCannotBeWrittenSaysSo(t *testing.T) {
	assert.Error(t, GoalieWeekCSV(broken{}, GoalieWeek{}))
}
