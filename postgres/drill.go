package postgres

import "cagework/domain"

func newDrills(db *DB) *records[domain.DrillFields, domain.None] {
	return newRecords[domain.DrillFields, domain.None](db, domain.NounDrill, "drills")
}
