package postgres

import "cagework/domain"

func newRules(db *DB) *records[domain.RuleFields, domain.None] {
	return newRecords[domain.RuleFields, domain.None](db, domain.NounRule, "rules")
}
