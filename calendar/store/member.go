package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"

	"budswell/calendar"
)

const memberColumns = "select club, grower, role, since, shares from members"

func member(row scanner) (m calendar.Member, err error) {
	return m, row.Scan(&m.Club, &m.Grower, &m.Role, timeOf{&m.Since}, &m.Shares)
}

// Members implements [calendar.Store].
func (s *Store) Members(ctx context.Context, club string) (out []calendar.Member, err error) {
	err = s.read(ctx, fmt.Sprintf("members of %q", club), func(t tx) (err error) {
		out, err = t.members(club)
		return err
	})
	return out, err
}

func (t tx) members(club string) ([]calendar.Member, error) {
	return all(t, member, memberColumns+" where club = $1 order by grower", club)
}

// Memberships implements [calendar.Store].
func (s *Store) Memberships(ctx context.Context, grower string) (out []calendar.Member, err error) {
	err = s.read(ctx, fmt.Sprintf("clubs of %q", grower), func(t tx) (err error) {
		out, err = t.memberships(grower)
		return err
	})
	return out, err
}

func (t tx) memberships(grower string) ([]calendar.Member, error) {
	return all(t, member, memberColumns+" where grower = $1 order by club", grower)
}

// PutMember implements [calendar.Store].
func (s *Store) PutMember(ctx context.Context, m calendar.Member) error {
	return s.write(ctx, fmt.Sprintf("put member %q of %q", m.Grower, m.Club), func(t tx) error { return t.putMember(m) })
}

func (t tx) putMember(m calendar.Member) error {
	if err := m.Check(); err != nil {
		return err
	}
	if m.Role != calendar.Keeper {
		if err := t.keeperStays(m.Club, m.Grower); err != nil {
			return err
		}
	}
	if _, err := t.exec(`insert into members (club, grower, role, since, shares) values ($1, $2, $3, $4, $5)
		on conflict (club, grower) do update set role = excluded.role, shares = excluded.shares`,
		m.Club, m.Grower, string(m.Role), instant(m.Since), m.Shares); err != nil {
		return err
	}
	if err := t.unkeep(m.Club, m.Grower); err != nil {
		return err
	}
	return t.clubChanged(m.Club)
}

// PutRole implements [calendar.Store].
func (s *Store) PutRole(ctx context.Context, club, grower string, role calendar.Role) error {
	return s.changeMember(ctx, club, grower, func(m *calendar.Member) { m.Role = role })
}

// PutShares implements [calendar.Store].
func (s *Store) PutShares(ctx context.Context, club, grower string, shares bool) error {
	return s.changeMember(ctx, club, grower, func(m *calendar.Member) { m.Shares = shares })
}

func (s *Store) changeMember(ctx context.Context, club, grower string, change func(*calendar.Member)) error {
	return s.write(ctx, fmt.Sprintf("change member %q of %q", grower, club), func(t tx) error {
		m, err := member(t.QueryRowContext(ctx, memberColumns+" where club = $1 and grower = $2", club, grower))
		if err != nil {
			return err
		}
		change(&m)
		return t.putMember(m)
	})
}

// keeperStays reports that a grower is the last keeper of a club.
func (t tx) keeperStays(club, grower string) error {
	var is, others int
	err := t.QueryRowContext(t.ctx, `select count(case when grower = $2 then 1 end), count(case when grower <> $2 then 1 end)
		from members where club = $1 and role = $3`, club, grower, string(calendar.Keeper)).Scan(&is, &others)
	if err != nil {
		return err
	}
	if is > 0 && others == 0 {
		return fmt.Errorf("%q is the last keeper of %q: want another first: %w", grower, club, calendar.ErrConflict)
	}
	return nil
}

// EndMember implements [calendar.Store].
func (s *Store) EndMember(ctx context.Context, club, grower string) error {
	return s.write(ctx, fmt.Sprintf("let %q of %q go", grower, club), func(t tx) error {
		if err := t.keeperStays(club, grower); err != nil {
			return err
		}
		if err := one(t.exec("delete from members where club = $1 and grower = $2", club, grower)); err != nil {
			return err
		}
		// Who comes back chooses anew whose rules to go by.
		if _, err := t.exec("delete from follows where club = $1 and grower = $2", club, grower); err != nil {
			return err
		}
		if err := t.unkeep(club, grower); err != nil {
			return err
		}
		if err := t.changed(growerOwner(grower)); err != nil {
			return err
		}
		return t.clubChanged(club)
	})
}

// unkeep ends what a grower has only by being a keeper or an editor of a club, where they
// are none, and what the pools have of them, where they share in no club.
func (t tx) unkeep(club, grower string) error {
	if _, err := t.exec(`delete from tickets where club = $1 and keeper = $2 and not exists (
		select 1 from members where club = $1 and grower = $2 and role = $3)`, club, grower, string(calendar.Keeper)); err != nil {
		return err
	}
	if err := t.unlend(club, grower); err != nil {
		return err
	}
	_, err := t.exec("delete from pooled where grower = $1 and not exists (select 1 from members where grower = $1 and shares)", grower)
	return err
}

// Invitations implements [calendar.Store].
func (s *Store) Invitations(ctx context.Context, club string, now time.Time) (out []calendar.Ticket, err error) {
	err = s.read(ctx, fmt.Sprintf("invitations into %q", club), func(t tx) (err error) {
		out, err = all(t, ticket, ticketRows+" where club = $1 and expires > $2 order by expires, hash", club, instant(now))
		return err
	})
	return out, err
}

// EndInvitation implements [calendar.Store].
func (s *Store) EndInvitation(ctx context.Context, club, hash string) error {
	return s.write(ctx, fmt.Sprintf("end an invitation into %q", club), func(t tx) error {
		_, err := t.exec("delete from tickets where club = $1 and hash = $2", club, hash)
		return err
	})
}

// JoinClub implements [calendar.Store].
func (s *Store) JoinClub(ctx context.Context, hash, grower string, now time.Time) error {
	return s.write(ctx, fmt.Sprintf("let %q join a club", grower), func(t tx) error {
		k, err := ticket(t.QueryRowContext(ctx, ticketColumns, hash, instant(now)))
		if errors.Is(err, sql.ErrNoRows) || err == nil && k.Club == "" {
			return fmt.Errorf("invitation into a club: %w", calendar.ErrGone)
		}
		if err != nil {
			return err
		}
		if err := t.redeem(hash, "", now); err != nil {
			return err
		}
		return t.enterClub(k, grower, now)
	})
}

// enterClub makes a grower what an invitation says, unless they are more already.
func (t tx) enterClub(k calendar.Ticket, grower string, now time.Time) error {
	m, err := member(t.QueryRowContext(t.ctx, memberColumns+" where club = $1 and grower = $2", k.Club, grower))
	switch {
	case errors.Is(err, sql.ErrNoRows):
		m = calendar.Member{Club: k.Club, Grower: grower, Since: now}
	case err != nil:
		return err
	case m.Role.May(k.Role):
		return nil
	}
	m.Role = k.Role
	return t.putMember(m)
}

// leaveClubs lets a grower who leaves the service go from all clubs. Nobody is kept
// here by an office: where there would be no keeper left, another becomes one.
func (t tx) leaveClubs(grower string) error {
	mine, err := t.memberships(grower)
	if err != nil {
		return err
	}
	for _, m := range mine {
		if _, err := t.exec("delete from members where club = $1 and grower = $2", m.Club, grower); err != nil {
			return err
		}
		if err := t.unkeep(m.Club, grower); err != nil {
			return err
		}
		if err := t.handOver(m.Club); err != nil {
			return err
		}
		if err := t.clubChanged(m.Club); err != nil {
			return err
		}
	}
	// What they decided as a keeper stands, without their name.
	_, err = t.exec("update asides set keeper = null where keeper = $1", grower)
	return err
}

// handOver makes a keeper where a club has none and anybody is left.
func (t tx) handOver(club string) error {
	rest, err := all(t, member, memberColumns+" where club = $1 order by since, grower", club)
	if err != nil || len(rest) == 0 {
		return err
	}
	next := rest[0]
	for _, m := range rest[1:] {
		if !next.Role.May(m.Role) {
			next = m
		}
	}
	_, err = t.exec("update members set role = $1 where club = $2 and grower = $3", string(calendar.Keeper), club, next.Grower)
	return err
}
