package store

import (
	"context"
	"fmt"
	"slices"

	"budswell/calendar"
)

const amendmentColumns = "select grower, club, subject, number, at, who, why, text, withdrawn from rules r where owner = $1"

func amendment(row scanner) (a calendar.Amendment, err error) {
	return a, row.Scan(textOf{&a.Grower}, textOf{&a.Club}, &a.Subject, &a.Number, timeOf{&a.At}, &a.Who, &a.Why, &a.Text, &a.Withdrawn)
}

func amender(w calendar.Whose) string {
	if w.Club != "" {
		return "club " + w.Club
	}
	return growerOwner(w.Grower)
}

// Amendments implements [calendar.Store].
func (s *Store) Amendments(ctx context.Context, of calendar.Whose) (out []calendar.Amendment, err error) {
	err = s.read(ctx, fmt.Sprintf("rules of %s", amender(of)), func(t tx) (err error) {
		out, err = t.amendments(of)
		return err
	})
	return out, err
}

func (t tx) amendments(of calendar.Whose) ([]calendar.Amendment, error) {
	return all(t, amendment, amendmentColumns+` and not withdrawn
		and number = (select max(number) from rules n where n.owner = r.owner and n.subject = r.subject) order by number`, amender(of))
}

// Versions implements [calendar.Store].
func (s *Store) Versions(ctx context.Context, of calendar.Whose) (out []calendar.Amendment, err error) {
	err = s.read(ctx, fmt.Sprintf("history of the rules of %s", amender(of)), func(t tx) (err error) {
		out, err = all(t, amendment, amendmentColumns+" order by number", amender(of))
		return err
	})
	return out, err
}

// Amend implements [calendar.Store].
func (s *Store) Amend(ctx context.Context, a calendar.Amendment, after int) (number int, err error) {
	err = s.write(ctx, fmt.Sprintf("amend for %s", amender(a.Whose)), func(t tx) error {
		if err := a.Check(); err != nil {
			return err
		}
		owner := amender(a.Whose)
		var last, newest int
		err := t.QueryRowContext(ctx, `select coalesce(max(number), 0), coalesce(max(case when subject = $2 then number end), 0)
			from rules where owner = $1`, owner, a.Subject).Scan(&last, &newest)
		if err != nil {
			return err
		}
		if newest != after {
			return fmt.Errorf("%q was changed meanwhile, by version %d: %w", a.Subject, newest, calendar.ErrConflict)
		}
		if err := t.roomFor(a, last); err != nil {
			return err
		}
		number = last + 1
		if _, err := t.exec(`insert into rules (owner, number, grower, club, subject, at, who, why, text, withdrawn)
			values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)`,
			owner, number, optional(a.Grower), optional(a.Club), a.Subject, instant(a.At), a.Who, a.Why, a.Text, a.Withdrawn); err != nil {
			return err
		}
		if a.Club != "" {
			return t.clubChanged(a.Club)
		}
		return t.changed(owner)
	})
	return number, err
}

// roomFor reports that an owner has too much already.
func (t tx) roomFor(a calendar.Amendment, versions int) error {
	standing, err := t.amendments(a.Whose)
	if err != nil {
		return err
	}
	n, bytes := 1, len(a.Text)
	for _, s := range standing {
		if s.Subject != a.Subject {
			n, bytes = n+1, bytes+len(s.Text)
		}
	}
	stands := slices.ContainsFunc(standing, func(s calendar.Amendment) bool { return s.Subject == a.Subject })
	switch {
	case a.Withdrawn && !stands:
		return fmt.Errorf("%q: nothing stands: %w", a.Subject, calendar.ErrNotFound)
	case a.Withdrawn: // there is always room to take something back
	case versions >= calendar.MostVersions:
		return fmt.Errorf("%d versions: want at most %d: %w", versions+1, calendar.MostVersions, calendar.ErrInvalid)
	case n > calendar.MostAmendments:
		return fmt.Errorf("%d rules: want at most %d; withdraw some: %w", n, calendar.MostAmendments, calendar.ErrInvalid)
	case bytes > calendar.MostAmendedText:
		return fmt.Errorf("%d bytes of rules: want at most %d; withdraw some: %w", bytes, calendar.MostAmendedText, calendar.ErrInvalid)
	}
	return nil
}

// Followed implements [calendar.Store].
func (s *Store) Followed(ctx context.Context, grower string) (out []string, err error) {
	err = s.read(ctx, fmt.Sprintf("clubs that %q follows", grower), func(t tx) (err error) {
		out, err = all(t, func(row scanner) (id string, err error) { return id, row.Scan(&id) },
			"select f.club from follows f join members m on m.grower = f.grower and m.club = f.club where f.grower = $1 order by f.club", grower)
		return err
	})
	return out, err
}

// Follow implements [calendar.Store].
func (s *Store) Follow(ctx context.Context, grower, club string, follow bool) error {
	return s.write(ctx, fmt.Sprintf("let %q follow %q", grower, club), func(t tx) error {
		var is int
		if err := t.QueryRowContext(ctx, "select count(*) from members where grower = $1 and club = $2", grower, club).Scan(&is); err != nil {
			return err
		}
		if is == 0 {
			return calendar.ErrNotFound
		}
		query := "delete from follows where grower = $1 and club = $2"
		if follow {
			query = "insert into follows (grower, club) values ($1, $2) on conflict (grower, club) do nothing"
		}
		if _, err := t.exec(query, grower, club); err != nil {
			return err
		}
		return t.changed(growerOwner(grower))
	})
}
