package summary

import (
	"bytes"
	"encoding/csv"
	"errors"
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
		"0.3211", "0.2214", "0.4247", "3", "too_early", "0.1324",
	}, rows[4])
	assert.Equal(t, []string{"0", "0", "52", "", "", "", "0.8000", "", "no_data", "false", "false", "false", "", "", "", "", "too_early", ""}, rows[2][6:], "what is null is empty")
}

func TestACellIsNoFormula(t *testing.T) {
	for in, want := range map[string]string{
		"=1+1": "'=1+1", "+1": "'+1", "-1": "'-1", "@x": "'@x", "\t=1": "'\t=1", "a=1": "a=1", "": "", "'=": "'=",
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
