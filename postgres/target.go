package postgres

import "cagework/domain"

func newTargets(db *DB) *records[domain.TargetFields, domain.None] {
	return newRecords[domain.TargetFields, domain.None](db, domain.NounTarget, "targets")
}
