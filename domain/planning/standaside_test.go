package planning

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"cagework/domain"
	"cagework/domain/judgement"
)

// overallAndLow is a goalie whose rate of all shots is low because the low shots get by.
func overallAndLow() Need {
	n := need(domain.Full, 60)
	n.Rates = []judgement.Rate{rate("overall", 90, domain.ClearGap, 3), rate("low", 70, domain.ClearGap, 1)}
	only := rule("only", "overall", "film", 45, 4)
	only.Fields.OnlyShort = true
	n.Rules = append(n.Rules, only)
	return n
}

func targetsOf(workOns []WorkOn) []string {
	var out []string
	for _, w := range workOns {
		out = append(out, w.Rate.Target.Fields.Code)
	}
	return out
}

func TestARateThatIsOnlyForItselfStandsAside(t *testing.T) {
	n := overallAndLow()
	assert.Equal(t, []string{"low"}, targetsOf(ChooseWorkOns(n)), "however much it is worth")
	n.Rates[1].Listed = false
	assert.Equal(t, []string{"overall"}, targetsOf(ChooseWorkOns(n)), "nothing else falls short")
	n = overallAndLow()
	n.Rates[1].CodeOfPlay = "box"
	assert.Equal(t, []string{"overall", "low"}, targetsOf(ChooseWorkOns(n)), "what falls short in another play is another matter")
}

func TestARateWithADrillOfItsOwnDoesNotStandAside(t *testing.T) {
	n := overallAndLow()
	n.Rules = append(n.Rules, rule("own", "overall", "shadow", 50, 4))
	assert.Equal(t, []string{"overall", "low"}, targetsOf(ChooseWorkOns(n)))
	n = overallAndLow()
	n.Rules = n.Rules[:3]
	assert.Equal(t, []string{"overall", "low"}, targetsOf(ChooseWorkOns(n)), "the table says nothing of it")
}

func TestABlockIsKeptThatWouldStandAside(t *testing.T) {
	n := overallAndLow()
	n.Assignments = []domain.Assignment{block(15, 2, "overall", "film", domain.Assigned)}
	assert.Equal(t, []string{"overall", "low"}, targetsOf(ChooseWorkOns(n)))
}
