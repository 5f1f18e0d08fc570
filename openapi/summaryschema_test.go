package openapi_test

import (
	"reflect"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"

	"cagework/domain"
	"cagework/domain/judgement"
	"cagework/domain/summary"
)

// TestSummarySchemasAgree holds what a week and a line are said to be to the types that are written.
func TestSummarySchemasAgree(t *testing.T) {
	raw := rawSchemas(t)
	for name, goType := range map[string]reflect.Type{
		"Line":            reflect.TypeFor[summary.Line](),
		"SpanLine":        reflect.TypeFor[summary.SpanLine](),
		"Expected":        reflect.TypeFor[summary.Expected](),
		"TeamLine":        reflect.TypeFor[summary.TeamLine](),
		"TeamGoalie":      reflect.TypeFor[summary.TeamGoalie](),
		"TeamOwn":         reflect.TypeFor[summary.TeamOwn](),
		"GoalieWeek":      reflect.TypeFor[summary.GoalieWeek](),
		"WeekGoalie":      reflect.TypeFor[summary.WeekGoalie](),
		"WeekPlay":        reflect.TypeFor[summary.WeekPlay](),
		"SeasonLine":      reflect.TypeFor[summary.SeasonLine](),
		"Rate":            reflect.TypeFor[summary.Rate](),
		"Likely":          reflect.TypeFor[summary.Likely](),
		"Signal":          reflect.TypeFor[summary.Signal](),
		"RateChange":      reflect.TypeFor[summary.RateChange](),
		"Method":          reflect.TypeFor[summary.Method](),
		"MethodFit":       reflect.TypeFor[summary.MethodFit](),
		"MethodFixed":     reflect.TypeFor[summary.MethodFixed](),
		"MethodCharts":    reflect.TypeFor[summary.MethodCharts](),
		"JudgementBounds": reflect.TypeFor[domain.JudgementBounds](),
		"Worth":           reflect.TypeFor[summary.Worth](),
		"HabitWorth":      reflect.TypeFor[summary.HabitWorth](),
		"Expectation":     reflect.TypeFor[judgement.Interval](),
		"Pairs":           reflect.TypeFor[summary.Pairs](),
		"ShotPair":        reflect.TypeFor[summary.ShotPair](),
		"WorkOn":          reflect.TypeFor[summary.WorkOn](),
		"ShotToWatch":     reflect.TypeFor[summary.WatchShot](),
		"WorkOnDrill":     reflect.TypeFor[summary.WeekDrill](),
		"HeldBack":        reflect.TypeFor[summary.HeldBack](),
		"LiveShots":       reflect.TypeFor[summary.LiveShots](),
		"WeekAdvice":      reflect.TypeFor[summary.WeekAdvice](),
		"WentWell":        reflect.TypeFor[summary.WentWell](),
		"WeekBlock":       reflect.TypeFor[summary.WeekBlock](),
		"Help":            reflect.TypeFor[summary.Help](),
		"Helps":           reflect.TypeFor[summary.Helps](),
		"HelpTotal":       reflect.TypeFor[summary.HelpTotal](),
		"BlockCount":      reflect.TypeFor[summary.BlockCount](),
		"SpanCount":       reflect.TypeFor[summary.SpanCount](),
		"ToRead":          reflect.TypeFor[summary.ToRead](),
		"TeamWeek":        reflect.TypeFor[summary.TeamWeek](),
		"ProgramWeek":     reflect.TypeFor[summary.ProgramWeek](),
		"NamedTeam":       reflect.TypeFor[summary.NamedTeam](),
		"GroupChanges":    reflect.TypeFor[summary.GroupChanges](),
		"GoalieChange":    reflect.TypeFor[summary.GoalieChange](),
		"GroupGoalie":     reflect.TypeFor[summary.GroupGoalie](),
		"GroupPlay":       reflect.TypeFor[summary.GroupPlay](),
		"Charted":         reflect.TypeFor[summary.Charted](),
		"Recurring":       reflect.TypeFor[summary.Recurring](),
		"ShortOf":         reflect.TypeFor[summary.ShortOf](),
		"NotCharted":      reflect.TypeFor[summary.NotCharted](),
		"TeamDrill":       reflect.TypeFor[summary.TeamDrill](),
		"DrillFor":        reflect.TypeFor[summary.DrillFor](),
	} {
		names, nulls := jsonNames(goType)
		assert.Equal(t, names, propertyNames(raw[name]), name)
		assert.Equal(t, names, requiredOf(raw[name]), name)
		for _, field := range names {
			assert.Equal(t, slices.Contains(nulls, field), mayBeNull(property(raw[name], field)), "%s.%s", name, field)
		}
	}
}
