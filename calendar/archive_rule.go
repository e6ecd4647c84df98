package calendar

import (
	"fmt"
	"time"
)

// ArchiveRule is what a grower says in the place of a part of the lore.
type ArchiveRule struct {
	Subject string    `json:"subject"`
	Since   time.Time `json:"since"`
	Why     string    `json:"why,omitempty"`
	Text    string    `json:"text"` // YAML
}

// ArchiveRulesOf returns what stands as it is archived.
func ArchiveRulesOf(all []Amendment) []ArchiveRule {
	var out []ArchiveRule
	for _, a := range all {
		out = append(out, ArchiveRule{a.Subject, a.At, a.Why, a.Text})
	}
	return out
}

// Amendment returns a rule as it is kept for a grower.
func (r *ArchiveRule) Amendment(grower string) Amendment {
	return Amendment{Whose: Whose{Grower: grower}, Subject: r.Subject, At: r.Since, Who: grower, Why: r.Why, Text: r.Text}
}

// checkRules reports rules that cannot be, whatever their texts say: those which by the
// lore of today have a fault are kept, and left out of plans.
func (g *ArchiveGrower) checkRules(at string) error {
	if len(g.Rules) > MostAmendments {
		return wrong(at+".rules", "%d: want at most %d", len(g.Rules), MostAmendments)
	}
	seen, bytes := map[string]bool{}, 0
	for i := range g.Rules {
		r := &g.Rules[i]
		field := fmt.Sprintf("%s.rules[%d]", at, i)
		a := r.Amendment(g.ID)
		if err := a.Check(); err != nil {
			return fmt.Errorf("%s: %w", field, err)
		}
		if y := r.Since.Year(); y < 2000 || y > 9999 {
			return wrong(field+".since", "%v: want when it was written", r.Since)
		}
		if seen[r.Subject] {
			return wrong(field+".subject", "%q: is there twice", r.Subject)
		}
		seen[r.Subject] = true
		if bytes += len(r.Text); bytes > MostAmendedText {
			return wrong(at+".rules", "more than %d bytes of texts", MostAmendedText)
		}
	}
	return nil
}
