package postgres

import (
	"context"

	"cagework/domain"
)

func newRules(db *DB, s *Stores) *records[domain.RuleFields, domain.RuleFound] {
	r := newRecords[domain.RuleFields, domain.RuleFound](db, domain.NounRule, "rules")
	r.check = func(ctx context.Context, t *tx, _ domain.Actor, _, after *domain.Rule) error {
		f := after.Fields
		if err := refuseUnknown(ctx, t, "drills", item("/after_drill_ids"), "drill", f.AfterDrillIDs); err != nil {
			return err
		}
		if err := refuseUnknown(ctx, t, "targets", item("/also_short_ids"), "target", f.AlsoShortIDs); err != nil {
			return err
		}
		return refuseUnknown(ctx, t, "targets", item("/not_short_ids"), "target", f.NotShortIDs)
	}
	r.decorate = s.findings
	return r
}

// findings works out why rules that are about to be shown may never give what they say.
func (s *Stores) findings(ctx context.Context, t *tx, rules []domain.Rule) error {
	all, err := s.Rules.where(ctx, t, "active ORDER BY priority, name, rules.id")
	if err != nil {
		return err
	}
	targets, err := s.Targets.where(ctx, t, "true")
	if err != nil {
		return err
	}
	drills, err := s.Drills.where(ctx, t, "true")
	if err != nil {
		return err
	}
	for i := range rules {
		rules[i].Found.Findings = domain.CheckRule(rules[i], all, targets, drills)
	}
	return nil
}

// refuseNamed refuses to remove what a list of ids still names; such lists have no foreign key. query gives the name of
// what names it, and takes the program and the id.
func refuseNamed(ctx context.Context, t *tx, noun domain.Noun, query string, id domain.ID) error {
	var name string
	err := t.QueryRow(ctx, `SELECT coalesce((`+query+`), '')`, t.program, id).Scan(&name)
	if err != nil {
		return err
	}
	if name != "" {
		return domain.Errorf(domain.InUse, "It cannot be removed: the %s %q names it.", spoken(noun), name)
	}
	return nil
}
