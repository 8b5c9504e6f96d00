package client

import (
	"slices"

	"drillwright/catalog"
	"drillwright/catalog/authored"
)

// Mild says of which complaints scores are presumed that nobody told, and a rung by the lift. It lists what is allowed, so that what is
// added to the vocabulary later isn't mild by accident. All of it must hold.
type Mild struct {
	At authored.Pos
	// Intensity is the most that may be told; IntensityOf that of single regions.
	Intensity   float64            `yaml:"intensity" need:"yes" range:"0..5" doc:"The strongest pain, of 10."`
	IntensityOf map[string]float64 `yaml:"intensity_of" keys:"region" doc:"The strongest pain of single regions, of 10."`
	// SuddenDays is how long ago a sudden beginning must be; an injury is never mild.
	SuddenDays int      `yaml:"sudden_days" need:"yes" range:"1.." doc:"How many days ago a sudden beginning must be at least."`
	LeastDays  int      `yaml:"least_days" need:"yes" range:"1.." doc:"How many days ago any beginning must be at least."`
	Kinds      []string `yaml:"kinds" need:"yes" suggest:"pain_kind" doc:"How it may feel."`
	Moments    []string `yaml:"moments" need:"yes" of:"moment told" doc:"When it may hurt."`
	// MomentsSettling are moments that are mild once it was told how many hours it takes to settle.
	MomentsSettling []string `yaml:"moments_if_settling_told" of:"moment told" doc:"When it may hurt where the hours to settle were told."`
	AgeFrom         int      `yaml:"age_from" need:"yes" range:"0.." doc:"The youngest age."`
	Lists           []string `yaml:"lists" need:"yes" items:"1.." doc:"The lists of questions, beside those of the region, of which each must be answered, and none with an open yes."`
	// Conditions are those that may be told of the region; any other, there now or before, keeps a complaint from being mild.
	Conditions []string     `yaml:"conditions" suggest:"condition" doc:"The conditions that may be told of the region, now or before."`
	Medicines  []WearingOff `yaml:"medicines" doc:"Medicines with which nothing is presumed."`
	// Loose are the regions in which nothing is presumed of joints that bend further than usual, Frail those in which nothing is of
	// frail bones, in pregnancy and after a birth.
	Loose           []string `yaml:"not_if_hypermobile" of:"region" doc:"The regions in which hypermobility keeps it from being mild."`
	Frail           []string `yaml:"not_if_frail" of:"region" doc:"The regions in which frail bones, pregnancy and a birth do."`
	FrailBones      []string `yaml:"frail_bones" suggest:"condition" doc:"The conditions that count as frail bones."`
	AfterBirthWeeks int      `yaml:"after_birth_weeks" doc:"For how many weeks after a birth."`
	// Regions is how many may be sore; Apart are regions that may not be sore together.
	Regions int     `yaml:"regions" need:"yes" range:"1.." doc:"How many regions may be sore."`
	Apart   []Apart `yaml:"apart" doc:"Regions that may not be sore together."`
	// A set of the log is against it above Pain, or a next morning so much above usual, since it began or in so many days.
	Sets struct {
		Pain        float64 `yaml:"pain" doc:"Pain above this, of 10."`
		NextDayRise float64 `yaml:"next_day_rise" doc:"A next day this much above the usual pain at rest."`
		Days        int     `yaml:"days" doc:"For at least so many days, whenever it began."`
	} `yaml:"sets" need:"yes" doc:"A logged set that speaks against it, since it began."`
	// Presumed are the most that is presumed of the scores, all together.
	Presumed struct {
		Rest        float64 `yaml:"rest" doc:"At rest, and never more than was told."`
		Worst       float64 `yaml:"worst" doc:"At its worst."`
		SettleHours float64 `yaml:"settle_hours" doc:"Hours to settle."`
	} `yaml:"presumed" need:"yes" doc:"The most that is presumed of scores nobody told, and that it doesn't wake."`
	// Lift is how far the lift shows what could be done.
	Lift struct {
		UpTo       string `yaml:"up_to" need:"yes" doc:"The highest rung that a lift shows."`
		LoggedDays int    `yaml:"logged_days" doc:"For how many days a logged set shows that the lift was being done."`
	} `yaml:"lift" need:"yes" doc:"How far the lift shows what could be done."`
	Source Source `yaml:"source" doc:"Where it comes from."`
}

// WearingOff is a medicine, and for how many weeks after it was taken it counts; 0: always.
type WearingOff struct {
	ID    string `yaml:"id" need:"yes" suggest:"medicine" doc:"The medicine."`
	Weeks int    `yaml:"weeks" range:"0.." doc:"For how many weeks; none for always."`
}

// Apart is a region with others that may not be sore beside it.
type Apart struct {
	Region string   `yaml:"region" need:"yes" of:"region" doc:"The region."`
	From   []string `yaml:"from" need:"yes" of:"region" doc:"The regions that may not be sore beside it."`
}

// mildness is how a complaint of a region on a side stands to Mild: whether it is mild, and whether it may be, were what is untold told so.
type mildness struct {
	*Facts
	region, side int
	id           string
	not          bool
	unreported   []Lack // in the order in which they are looked at
}

// Lack is a field that wasn't told, or no longer counts: a part of a complaint, given by its index in the request; the answer to a
// question; or another field of the request.
type Lack struct {
	Complaint int // from 1; 0: of none
	Question  *Question
	Field     string
}

// mildly says of which sides all that is complained of is mild.
func (d *deriver) mildly() {
	for region := range d.told {
		for side := range 2 {
			w := d.weighMild(region, side)
			d.told[region].sides[side].mild = w.holds()
		}
	}
}

// weighMild weighs the complaints of a region on a side.
func (f *Facts) weighMild(region, side int) mildness {
	w := mildness{Facts: f, region: region, side: side, id: f.Frame.ids.regions.ids[region]}
	if f.Frame.Measures.Mild == nil || !f.told[region].sides[side].complained {
		w.not = true
		return w
	}
	for i := range f.Request.Complaints {
		if c := &f.Request.Complaints[i]; c.of(w.id, side) {
			w.complaint(c, i+1)
		}
	}
	w.person()
	w.questions()
	w.conditions()
	w.others()
	w.logged()
	w.scored()
	return w
}

func (w *mildness) holds() bool { return !w.not && len(w.unreported) == 0 }

// must notes a condition that has to hold.
func (w *mildness) must(holds bool) { w.not = w.not || !holds }

// mustOf is must for a condition that hangs on a field, which may not have been told.
func (w *mildness) mustOf(reported, holds bool, field Lack) {
	if !reported {
		w.unreported = append(w.unreported, field)
		return
	}
	w.must(holds)
}

func (w *mildness) complaint(c *Complaint, index int) {
	m := w.Frame.Measures.Mild
	most, own := m.IntensityOf[w.id]
	if !own {
		most = m.Intensity
	}
	w.must(c.Intensity > 0 && c.Intensity <= most)
	w.mustOf(c.Kind != "", slices.Contains(m.Kinds, c.Kind), Lack{Complaint: index, Field: "kind"})
	w.mustOf(c.Onset != "", c.Onset == "GRADUAL" || c.Onset == "SUDDEN" && (c.Days == 0 || c.Days >= m.SuddenDays),
		Lack{Complaint: index, Field: "onset"})
	w.mustOf(c.Days > 0, c.Days >= m.LeastDays, Lack{Complaint: index, Field: "days"})
	if slices.Contains(m.MomentsSettling, c.Moment) {
		p := w.told[w.region].sides[w.side].pain
		w.mustOf(p != nil && p.SettleHours != nil, true, Lack{Field: fieldPain})
	} else {
		w.mustOf(c.Moment != "", slices.Contains(m.Moments, c.Moment), Lack{Complaint: index, Field: "moment"})
	}
}

// person: age told; no painkiller today, nor medicines that hide or weaken.
func (w *mildness) person() {
	m, p := w.Frame.Measures.Mild, w.Request.Profile
	w.mustOf(p.AgeYears != nil, p.AgeYears != nil && *p.AgeYears >= m.AgeFrom, Lack{Field: fieldAge})
	w.must(p.PainkillerToday == nil || !*p.PainkillerToday)
	for i := range p.Medicines {
		k := &p.Medicines[i]
		w.must(!slices.ContainsFunc(m.Medicines, func(off WearingOff) bool {
			return off.ID == k.Class && (off.Weeks == 0 || k.Since == 0 || int(w.Request.AsOf-k.Since) < 7*off.Weeks)
		}))
	}
	if slices.Contains(m.Loose, w.id) {
		w.must(!w.bendsFurther())
	}
	if slices.Contains(m.Frail, w.id) && p.Pregnancy != nil {
		birth := p.Pregnancy.PostnatalWeeks
		w.must(p.Pregnancy.Weeks == nil && (birth == nil || *birth >= m.AfterBirthWeeks))
	}
}

// bendsFurther is whether the joints bend further than usual, or something speaks for it.
func (f *Facts) bendsFurther() bool { return f.Bool[0][f.Frame.at.person.hypermobile.slot].Possible }

// questions: each that is asked of everyone and of the region is answered, in date, and none is an open yes.
func (w *mildness) questions() {
	lists := w.Frame.Measures.Mild.Lists
	for i, q := range w.Frame.lookups.questions {
		if q.Region != w.id && !slices.Contains(lists, q.List) {
			continue
		}
		no := w.Bool[0][w.Frame.at.answers[i].slot] == No
		w.mustOf(no || w.replies[i].open, no, Lack{Question: q})
	}
}

// conditions: none of the region but those that may be, and no operation there.
func (w *mildness) conditions() {
	m, v, p := w.Frame.Measures.Mild, w.Frame.Vocabulary, w.Request.Profile
	for i := range p.Conditions {
		c := &p.Conditions[i]
		k := &v.Conditions[v.Index("condition", c.ID)]
		here := len(k.Regions) == 0 || slices.Contains(k.Regions, w.id)
		if k.Bone {
			here = c.Region == w.id || c.Region == "" && slices.Contains(k.Unplaced, w.id)
		}
		frail := slices.Contains(m.Frail, w.id) && slices.Contains(m.FrailBones, c.ID)
		w.must(!frail && (!here || slices.Contains(m.Conditions, c.ID)))
	}
	w.must(!slices.ContainsFunc(p.Surgeries, func(k Surgery) bool { return k.Region == w.id }))
}

// others: not both sides, not too many regions, none that it must not be sore beside.
func (w *mildness) others() {
	m, sore := w.Frame.Measures.Mild, 0
	for region := range w.told {
		hurts := [2]bool{w.hurts(region, 0), w.hurts(region, 1)}
		if !hurts[0] && !hurts[1] {
			continue
		}
		sore++
		id := w.Frame.ids.regions.ids[region]
		w.must(region != w.region || !w.Frame.Vocabulary.Sided(id) || !hurts[1-w.side])
		w.must(!slices.ContainsFunc(m.Apart, func(a Apart) bool {
			return a.Region == w.id && slices.Contains(a.From, id) || a.Region == id && slices.Contains(a.From, w.id)
		}))
	}
	w.must(sore <= m.Regions)
}

// hurts is whether a side of a region was complained of, or scored as in question.
func (f *Facts) hurts(region, side int) bool {
	t, least := &f.told[region].sides[side], f.Frame.Measures.PainInQuestion
	return t.complained || t.pain != nil && (value(t.pain.Rest) >= least || value(t.pain.Worst) >= least)
}

// value is that of a score; 0 of one that wasn't told.
func value(v *float64) float64 {
	if v == nil {
		return 0
	}
	return *v
}

// logged: no set that loaded the side hurt above the ceiling, or was felt the next day.
func (w *mildness) logged() {
	against := slices.ContainsFunc(w.Request.Profile.Log, func(s LoggedSet) bool { return w.madeWorse(&s, w.region, w.side) })
	w.must(!against)
}

// madeWorse is whether a set that loads a side of a region hurt above the ceiling there, or made the next day worse, since it began
// to hurt or in the days that count in any case.
func (f *Facts) madeWorse(s *LoggedSet, region, side int) bool {
	t := &f.told[region].sides[side]
	limit := &f.Frame.Measures.Mild.Sets
	if s.Day < min(t.flare, f.Request.AsOf-Day(limit.Days)+1) {
		return false
	}
	usual := 0.0
	if t.pain != nil {
		usual = value(t.pain.Rest)
	}
	if value(s.Pain) <= limit.Pain && (s.NextDay == nil || *s.NextDay < usual+limit.NextDayRise) {
		return false
	}
	d := f.Frame.Drills.Drill(s.Drill)
	return d != nil && f.loadedBy(d, s.Side, region, side)
}

// loadedBy is whether a drill, done on sides that were told, loads a side of a region.
func (f *Facts) loadedBy(d *catalog.Drill, reported Side, region, side int) bool {
	id := f.Frame.ids.regions.ids[region]
	for i := range d.Rows {
		bodySide := side ^ i
		onSide := d.Sides != catalog.OneSide || !f.Frame.Vocabulary.Sided(id) || reported.On(bodySide)
		if onSide && f.Frame.Ladder(id).Loads(&d.Rows[i], id) {
			return true
		}
	}
	return false
}

// scored: a score that has grown too old to count, and was worse than what would be presumed, leaves nothing to presume.
func (w *mildness) scored() {
	most := &w.Frame.Measures.Mild.Presumed
	for i := range w.Request.Profile.Pain {
		p := &w.Request.Profile.Pain[i]
		if p.Region != w.id || !p.Side.On(w.side) || p == w.told[w.region].sides[w.side].pain {
			continue
		}
		woken := p.WakesAtNight != nil && *p.WakesAtNight
		w.must(!woken && value(p.Rest) <= most.Rest && value(p.Worst) <= most.Worst && value(p.SettleHours) <= most.SettleHours)
	}
}
