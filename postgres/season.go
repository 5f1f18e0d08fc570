package postgres

import "cagework/domain"

func newSeasons(db *DB) *records[domain.SeasonFields, domain.None] {
	return newRecords[domain.SeasonFields, domain.None](db, domain.NounSeason, "seasons")
}
