package feeds

import (
	"strings"
	"time"

	"budswell/calendar"
	"budswell/climate"
	"budswell/climate/phenology"
)

// clubToLookAt puts a grower into a club as its keeper, with a region, another member, an
// invitation and a pool in which something is odd; and founds a club without anybody.
func (b *bed) clubToLookAt(keeper string) {
	b.t.Helper()
	for _, id := range []string{"ridge", "vale"} {
		_, err := FoundClub(b.ctx(), b.server.cfg, id, "Tree Circle of the Ridge and of the Long Valley below", map[string]string{"ridge": keeper}[id])
		b.must(err)
	}
	b.must(b.store.PutGrower(b.ctx(), calendar.Grower{ID: "bea", Name: "Bea of the Hill"}))
	b.must(b.store.PutMember(b.ctx(), calendar.Member{Club: "ridge", Grower: "bea", Role: calendar.Plain, Since: b.now(), Shares: true}))
	b.must(b.store.PutShares(b.ctx(), "ridge", keeper, true))
	_, err := ClubInvitation(b.ctx(), b.server.cfg, "ridge", calendar.Editor, "somebody.with.a.long.address@trees-and-stones.example.org", keeper, InvitationLife)
	b.must(err)
	r, err := b.store.Region(b.ctx(), "quernthal")
	b.must(err)
	r.Club = "ridge"
	b.must(b.store.PutRegion(b.ctx(), r))
	on := climate.NewDate(2026, time.April, 2)
	_, err = b.store.PutTellings(b.ctx(), "bea", []calendar.Telling{{Tree: "x", Pooled: phenology.Pooled{
		Grower: "bea", Species: "Chamaecyparis obtusa", Phase: phenology.BudSwell, On: on, Year: 2026, Late: 40, Variance: 0.5, Lat: 47.3, Lon: 8.9, Elevation: 650,
	}}})
	b.must(err)
	b.must(b.store.SetAside(b.ctx(), calendar.Aside{Club: "ridge", Grower: "bea", Species: "Chamaecyparis obtusa", Phase: phenology.BudSwell, On: on, Keeper: keeper, At: b.now()}))
	b.must(b.server.replan(b.ctx(), keeper, b.now()))
}

// invitation makes an invitation into a club and returns its path.
func (b *bed) invitation(club string) string {
	b.t.Helper()
	link, err := ClubInvitation(b.ctx(), b.server.cfg, club, calendar.Plain, "", "", InvitationLife)
	b.must(err)
	return strings.TrimPrefix(link, "http://trees.example")
}
