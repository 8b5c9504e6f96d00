package analysis

import (
	"slices"
	"strings"

	"drillwright/rules/client"
)

// Each of these tells one fact in the fields of a request, and leaves every other as it is told.

func (t *reporter) list(list *[]string, v Value) {
	*list = without(*list, func(w string) bool { return w == t.word })
	if v.Yes {
		*list = append(*list, t.word)
	}
}

// kit that counts as the piece goes with it.
func (t *reporter) kit(v Value) {
	t.p.KitTold = true
	t.list(&t.p.Kit, v)
	if !v.Yes {
		t.p.Kit = without(t.p.Kit, func(id string) bool {
			at := t.frame.Vocabulary.Index("kit", id)
			return at >= 0 && slices.Contains(t.frame.Vocabulary.Kit[at].CountsAs, t.word)
		})
	}
}

func (t *reporter) medicine(v Value) {
	t.p.MedicinesTold = true
	t.p.Medicines = without(t.p.Medicines, func(m client.Medicine) bool { return m.Class == t.word })
	if v.Yes {
		t.p.Medicines = append(t.p.Medicines, client.Medicine{Class: t.word})
	}
}

func (t *reporter) condition(v Value) {
	t.p.ConditionsTold = true
	sided, side := t.sided(t.word), t.side
	if !sided {
		side = client.SideNone
	}
	list := split(t.p.Conditions, sided, func(c *client.Condition) *client.Side { return &c.Side })
	t.p.Conditions = without(list, func(c client.Condition) bool { return c.ID == t.word && c.Side == side })
	switch {
	case !v.Yes:
	case v.Word == "PAST":
		t.p.Conditions = append(t.p.Conditions, client.Condition{ID: t.word, Side: side, ToldBy: "CLIENT", Status: "PAST"})
	default:
		t.p.Conditions = append(t.p.Conditions, client.Condition{ID: t.word, Side: side, ToldBy: v.Word, Status: "NOW"})
	}
}

// sided is whether a condition is told of a side.
func (t *reporter) sided(condition string) bool {
	v := t.frame.Vocabulary
	regions := v.Conditions[v.Index("condition", condition)].Regions
	return len(regions) == 0 || slices.ContainsFunc(regions, v.Sided)
}

// conditionDays: the condition is there since so many days; one that nobody told is now told by a clinician.
func (t *reporter) conditionDays(v Value) {
	t.word = t.id
	if v.None {
		t.condition(Value{})
		return
	}
	t.p.Conditions = slices.Clone(t.p.Conditions)
	if t.sided(t.id) {
		t.p.Conditions = split(t.p.Conditions, true, func(c *client.Condition) *client.Side { return &c.Side })
	}
	now := func(c *client.Condition) bool { return c.ID == t.id && c.Status != "PAST" && c.Side.On(t.at) }
	if !slices.ContainsFunc(t.p.Conditions, func(c client.Condition) bool { return now(&c) }) {
		t.condition(Value{Yes: true, Word: "CLINICIAN"})
	}
	for i := range t.p.Conditions {
		if c := &t.p.Conditions[i]; now(c) {
			c.Since = t.q.AsOf - client.Day(v.Number)
		}
	}
}

func (t *reporter) measure(list *[]client.Measure, v Value) {
	by := "SAME_MEASURER"
	for _, m := range *list {
		if m.Of == t.id && m.Side.On(t.at) && m.By != "" {
			by = m.By
		}
	}
	*list = without(*list, func(m client.Measure) bool { return m.Of == t.id && m.Side == t.side })
	*list = append(*list, client.Measure{Of: t.id, Side: t.side, Value: v.Number, Day: t.q.AsOf, By: by})
}

func (t *reporter) painful(v Value) {
	motion, p := t.of(), t.frame.Table.Path("client."+"painful."+t.id)
	arc := client.PainfulArc{Motion: motion, Side: t.side, From: p.Lo, To: p.Hi}
	t.p.PainfulArcs = without(t.p.PainfulArcs, func(a client.PainfulArc) bool {
		if a.Motion != motion || a.Side != t.side {
			return false
		}
		arc = a
		return true
	})
	if v.None {
		return
	}
	if t.part == "from" {
		arc.From = v.Number
	} else {
		arc.To = v.Number
	}
	t.p.PainfulArcs = append(t.p.PainfulArcs, arc)
}

func (t *reporter) pregnancy(v Value) {
	p := client.Pregnancy{}
	if t.p.Pregnancy != nil {
		p = *t.p.Pregnancy
	}
	switch t.part {
	case "weeks":
		p.Weeks = intOf(v)
	case "postnatal_weeks":
		p.PostnatalWeeks = intOf(v)
	case "section":
		p.Section = v.Yes
	default:
		p.Agreed = &v.Yes
	}
	t.p.Pregnancy = &p
}

// pressure: the value that nobody told stays on its side of the other.
func (t *reporter) pressure(v Value) {
	b := client.BloodPressure{Systolic: 120, Diastolic: 80}
	reported := t.p.BloodPressure != nil && int(t.q.AsOf-t.p.BloodPressure.Day) <= t.frame.Measures.ValidDays.BloodPressure
	if reported {
		b = *t.p.BloodPressure
	}
	b.Day = t.q.AsOf
	if t.part == "systolic" {
		b.Systolic = int(v.Number)
		if !reported {
			b.Diastolic = min(b.Diastolic, b.Systolic-1)
		}
	} else {
		b.Diastolic = int(v.Number)
		if !reported {
			b.Systolic = max(b.Systolic, b.Diastolic+1)
		}
	}
	t.p.BloodPressure = &b
}

func (t *reporter) surgery(v Value) {
	t.p.SurgeriesTold = true
	list := split(t.p.Surgeries, t.side != client.SideNone, func(s *client.Surgery) *client.Side { return &s.Side })
	t.p.Surgeries = without(list, func(s client.Surgery) bool { return s.Region == t.id && s.Side.On(t.at) })
	if v.Yes {
		t.p.Surgeries = append(t.p.Surgeries, client.Surgery{ID: "operation", Region: t.id, Side: t.side})
	}
}

// surgeryWeeks: the operations of the side were so many weeks ago.
func (t *reporter) surgeryWeeks(v Value) {
	if v.None {
		t.surgery(Value{})
		return
	}
	t.p.Surgeries = split(t.p.Surgeries, t.side != client.SideNone, func(s *client.Surgery) *client.Side { return &s.Side })
	if here := func(s client.Surgery) bool { return s.Region == t.id && s.Side.On(t.at) }; !slices.ContainsFunc(t.p.Surgeries, here) {
		t.surgery(Value{Yes: true})
	}
	t.operated(func(s *client.Surgery) { s.Day = t.q.AsOf - 7*client.Day(v.Number) })
}

func (t *reporter) trainedSince(v Value) {
	list := split(t.p.Surgeries, t.side != client.SideNone, func(s *client.Surgery) *client.Side { return &s.Side })
	t.p.Surgeries = list
	t.operated(func(s *client.Surgery) { s.FullTrainingSince = v.Yes })
}

// operated changes the operations of the region on this side.
func (t *reporter) operated(change func(*client.Surgery)) {
	for i := range t.p.Surgeries {
		if s := &t.p.Surgeries[i]; s.Region == t.id && s.Side.On(t.at) {
			change(s)
		}
	}
}

// procedure: what was done in the region, where somebody was operated, was this; else there was another operation.
func (t *reporter) procedure(v Value) {
	t.p.SurgeriesTold = true
	region := t.procedureRegion()
	k := client.Surgery{ID: t.word, Region: region}
	if t.frame.Vocabulary.Sided(region) {
		k.Side = client.Sides[t.at]
	}
	list := split(t.p.Surgeries, k.Side != client.SideNone, func(s *client.Surgery) *client.Side { return &s.Side })
	list = without(list, func(s client.Surgery) bool {
		had := s.Region == region && s.Side.On(t.at)
		if had && v.Yes {
			k.Day, k.FullTrainingSince = s.Day, s.FullTrainingSince
		}
		return had && (v.Yes || s.ID == t.word)
	})
	if v.Yes {
		list = append(list, k)
	}
	t.p.Surgeries = list
}

// procedureRegion is where a procedure was done: in the first of its regions with an operation that nobody named, or in the first.
func (t *reporter) procedureRegion() string {
	v := t.frame.Vocabulary
	regions := v.Procedures[v.Index("procedure", t.word)].Regions
	unnamed := func(region string) bool {
		return slices.ContainsFunc(t.p.Surgeries, func(s client.Surgery) bool {
			return s.Region == region && s.Side.On(t.at) && !v.Has("procedure", s.ID)
		})
	}
	if i := slices.IndexFunc(regions, unnamed); i >= 0 {
		return regions[i]
	}
	return regions[0]
}

// operationWeeks: the procedure was done so many weeks ago.
func (t *reporter) operationWeeks(v Value) {
	t.word = t.id
	t.procedure(Value{Yes: !v.None})
	t.p.Surgeries = slices.Clone(t.p.Surgeries)
	for i := range t.p.Surgeries {
		if s := &t.p.Surgeries[i]; s.ID == t.id && s.Side.On(t.at) {
			s.Day = t.q.AsOf - 7*client.Day(v.Number)
		}
	}
}

// bone: the first of the vocabulary that breaks, in the region.
func (t *reporter) bone(v Value) {
	t.p.ConditionsTold = true
	for _, c := range t.frame.Vocabulary.Conditions {
		if !c.Bone {
			continue
		}
		t.p.Conditions = without(t.p.Conditions, func(k client.Condition) bool { return k.ID == c.ID && (k.Region == t.id || k.Region == "") })
		if v.Yes {
			t.p.Conditions = append(t.p.Conditions, client.Condition{ID: c.ID, Region: t.id, Side: t.side, ToldBy: "CLINICIAN", Status: "NOW"})
			return
		}
	}
}

func (t *reporter) pain(v Value) {
	p := client.Pain{Region: t.of(), Side: t.side, Day: t.q.AsOf}
	t.p.Pain = without(t.p.Pain, func(had client.Pain) bool {
		if had.Region != p.Region || had.Side != p.Side {
			return false
		}
		if int(t.q.AsOf-had.Day) <= t.frame.Measures.ValidDays.Pain {
			p = had
		}
		return true
	})
	switch t.part {
	case "rest", "rest_told":
		p.Rest = &v.Number
	case "worst":
		p.Worst = &v.Number
	case "next_day":
		p.NextDay = &v.Number
	case "settle_hours":
		p.SettleHours = &v.Number
	default:
		p.WakesAtNight = &v.Yes
	}
	t.p.Pain = append(t.p.Pain, p)
}

func (t *reporter) rung(v Value) {
	ladder := t.frame.Ladder(t.id)
	t.p.Rungs = without(t.p.Rungs, func(s client.Standing) bool { return s.Region == t.id && s.Side == t.side })
	t.p.Rungs = append(t.p.Rungs, client.Standing{Region: t.id, Side: t.side, At: ladder.Rungs[int(v.Number)], Since: t.q.AsOf})
}

func (t *reporter) best(v Value) {
	b := client.Best{Test: t.of(), Day: t.q.AsOf}
	t.p.Best = without(t.p.Best, func(had client.Best) bool {
		if had.Test != b.Test {
			return false
		}
		if int(t.q.AsOf-had.Day) <= t.frame.Measures.ValidDays.Best {
			b = had
		}
		return true
	})
	switch t.part {
	case "sets":
		b.Sets = intOf(v)
	case "reps":
		b.Reps = intOf(v)
	case "load_kg":
		b.LoadKg = &v.Number
	case "pain":
		b.Pain = &v.Number
	default:
		b.Form = v.Word
	}
	t.p.Best = append(t.p.Best, b)
}

func (t *reporter) answer(v Value) {
	is := map[bool]string{true: "YES", false: "NO"}[v.Yes]
	others := without(t.p.Answers, func(a client.Answer) bool { return a.Question == t.id })
	t.p.Answers = append(others, client.Answer{Question: t.id, Is: is, Day: t.q.AsOf, ComplaintInView: true})
}

// familiar: a drill is known from the log.
func (t *reporter) familiar(v Value) {
	t.p.Log = without(t.p.Log, func(s client.LoggedSet) bool { return s.Drill == t.word })
	if v.Yes {
		t.p.Log = append(t.p.Log, client.LoggedSet{Drill: t.word, Day: t.q.AsOf, Reps: 1})
	}
}

// weekSets: as many sets of the first drill of the pattern.
func (t *reporter) weekSets(v Value) {
	drills := t.frame.Drills
	t.p.Log = without(t.p.Log, func(s client.LoggedSet) bool {
		d := drills.Drill(s.Drill)
		return d != nil && d.Pattern.ID == t.id && int(t.q.AsOf-s.Day) < t.frame.Measures.ValidDays.Week
	})
	for _, d := range drills.Drills {
		if d.Pattern.ID == t.id {
			for range int(v.Number) {
				t.p.Log = append(t.p.Log, client.LoggedSet{Drill: d.ID, Day: t.q.AsOf, Reps: 1})
			}
			return
		}
	}
}

// complaint: no intensity is no complaint. A kind, moment or onset more is a complaint more.
func (t *reporter) complaint(v Value) {
	region := t.of()
	here := func(c client.Complaint) bool { return c.Region == region && c.Side.On(t.at) }
	list := split(t.q.Complaints, t.side != client.SideNone, func(c *client.Complaint) *client.Side { return &c.Side })
	c := client.Complaint{Region: region, Side: t.side, Intensity: 1, Moment: "MIDDLE", Kind: "ACHE", Onset: "GRADUAL", Days: 14}
	reported := slices.IndexFunc(list, here)
	if reported >= 0 {
		c = list[reported]
	}
	word := map[string]func(*client.Complaint) *string{
		"kinds":   func(c *client.Complaint) *string { return &c.Kind },
		"moments": func(c *client.Complaint) *string { return &c.Moment },
		"onsets":  func(c *client.Complaint) *string { return &c.Onset },
	}[t.part]
	others := without(list, here)
	switch {
	case t.part == "intensity" && v.Number == 0:
		list = others
	case t.part == "intensity":
		c.Intensity = v.Number
		list = append(others, c)
	case t.part == "days" || t.part == "newest_days":
		c.Days = int(v.Number)
		list = append(others, c)
	case t.part == "looked_at":
		if c.LookedAt = 0; v.Yes {
			c.LookedAt, c.Days = t.q.AsOf, max(c.Days, 1)
		}
		list = append(others, c)
	case v.Yes:
		*word(&c) = t.word
		list = append(list, c)
	default:
		for i := range list {
			if here(list[i]) && *word(&list[i]) == t.word {
				*word(&list[i]) = ""
			}
		}
	}
	t.q.Complaints = list
}

// limit and clearance: by a clinician, given today.
func (t *reporter) limit(v Value) {
	part, id, _ := strings.Cut(t.id, ".")
	region := id
	if part == "range" {
		region = t.frame.Vocabulary.Motion(id).Region
	}
	list, here := t.clearances(region)
	if !v.None && (part != "no_overhead" || v.Yes) && !slices.ContainsFunc(list, here) {
		list = append(list, client.Clearance{By: "CLINICIAN", Region: region, Side: t.side, Given: t.q.AsOf})
	}
	for i := range list {
		c := &list[i]
		if !here(*c) {
			continue
		}
		switch part {
		case "range":
			c.RangeDeg = without(c.RangeDeg, func(l client.Limit) bool { return l.Motion == id })
			if !v.None {
				c.RangeDeg = append(c.RangeDeg, client.Limit{Motion: id, ToDeg: v.Number})
			}
		case "load_kg":
			c.LoadKg = nil
			if !v.None {
				c.LoadKg = &v.Number
			}
		default:
			c.NoOverhead = v.Yes
		}
	}
	t.p.Clearances = list
}

func (t *reporter) clearance(v Value) {
	list, here := t.clearances(t.id)
	t.p.Clearances = without(list, here)
	if v.Yes {
		t.p.Clearances = append(t.p.Clearances, client.Clearance{By: "CLINICIAN", Region: t.id, Side: t.side, Given: t.q.AsOf, Surgery: true})
	}
}

// clearances are those told, side by side, and which of them are of a region on this side.
func (t *reporter) clearances(region string) ([]client.Clearance, func(client.Clearance) bool) {
	t.p.ClearancesTold = true
	list := split(t.p.Clearances, t.side != client.SideNone, func(c *client.Clearance) *client.Side { return &c.Side })
	return list, func(c client.Clearance) bool { return c.Region == region && c.Side.On(t.at) }
}
