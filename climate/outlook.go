package climate

// Outlook is the weather of a site as it stands on one day: what is known up to
// and including Issue, and ways in which it may go on. Every member is a whole
// daily series over the same days, First to Last. Members agree on days that
// are known, and differ afterwards; where only normals are known they differ
// everywhere.
//
// Draw i of a forecast belongs to member i modulo the number of members; so
// that draws of frost, warmth and phases can be combined one by one.
type Outlook struct {
	Site  Site
	Issue Date
	First Date

	Members []Member

	// Record is the known weather up to Issue with its gaps filled, each filled
	// value marked; nil where only normals are known.
	Record *Record

	Basis  Basis
	Supply Supply
}

// Member is one way the weather goes. Tmin[0] and Tmax[0] are those of the
// outlook's First; C.
type Member struct {
	// Year tells where the days after Issue come from: the season of the
	// record, or 0 for a generated one.
	Year       int
	Tmin, Tmax []float64
}

// Basis says what an outlook rests on, for the people who read its dates.
type Basis struct {
	Source    string `json:"source"`    // the record's, or "normals as typed", "frost dates as typed"
	Years     int    `json:"years"`     // seasons of measured weather behind the ensemble
	Generated int    `json:"generated"` // members that a generator made

	// Normals is where normals come from that were looked up and have a part in
	// the typical year; empty where they have none. OwnWeight is the part that the
	// record's own typical year has beside them, 0 to 1: its weight in fills of
	// gaps and in generated members.
	Normals   string  `json:"normals,omitempty"`
	OwnWeight float64 `json:"own_weight,omitempty"`

	// Correction is how those normals were moved toward what was read here.
	Correction Correction `json:"correction,omitzero"`

	// Days of the year up to Issue by origin of their temperatures: a day counts
	// by the poorer of its two values.
	// What is not known at all counts as typical.
	Measured     int `json:"measured"`
	Predicted    int `json:"predicted"`
	Interpolated int `json:"interpolated"`
	Typical      int `json:"typical"`
}

// Last returns the last day that the members cover.
func (o *Outlook) Last() Date {
	if len(o.Members) == 0 {
		return NoDate
	}
	return o.First + Date(len(o.Members[0].Tmin)) - 1
}

// FrostOn returns the share of members, 0 to 1, whose minimum on a day is at or below a level, C; 0
// on days that they do not cover.
func (o *Outlook) FrostOn(d Date, level float64) float64 {
	if len(o.Members) == 0 || d < o.First || d > o.Last() {
		return 0
	}
	n := 0
	for i := range o.Members {
		if o.Members[i].Tmin[d-o.First] <= level {
			n++
		}
	}
	return float64(n) / float64(len(o.Members))
}

// MemberOf returns the member that draw i belongs to.
func (o *Outlook) MemberOf(draw int) *Member { return &o.Members[draw%len(o.Members)] }
