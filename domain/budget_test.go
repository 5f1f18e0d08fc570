package domain

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestBudgetsGrowWithTheLevel(t *testing.T) {
	assert.Len(t, StarterBudgets, len(Levels))
	var before Budget
	for _, level := range Levels {
		b := StarterBudgets[level]
		assert.Greater(t, b.Session, before.Session, level)
		assert.Greater(t, b.Week, before.Week, level)
		assert.GreaterOrEqual(t, b.Week, 2*b.Session, "%s: a week holds two full practices", level)
		before = b
	}
}

func TestATeamsOwnBudgetComesFirst(t *testing.T) {
	assert.Equal(t, Budget{40, 90}, TeamFields{}.BudgetAt("12u"))
	assert.Equal(t, Budget{30, 90}, TeamFields{LiveShotsSession: new(30)}.BudgetAt("12u"))
	assert.Equal(t, Budget{40, 0}, TeamFields{LiveShotsWeek: new(0)}.BudgetAt("12u"))
}
