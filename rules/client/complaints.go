package client

import "slices"

// daysLimit is the longest that a complaint can have lasted, in days; days that weren't told may be as many.
const daysLimit = 36500

func (d *deriver) complaints() {
	for i := range d.told {
		d.complaint(i, 0)
		d.complaint(i, 1)
	}
	d.bothTruth(d.Frame.at.request.complained, truth(len(d.Request.Complaints) > 0), Measured)
	d.nerveSigns()
}

// nerveSigns is whether signs of a nerve were told of both sides of the body, in whichever regions.
func (d *deriver) nerveSigns() {
	var on [2]bool
	for i := range d.Request.Complaints {
		c := &d.Request.Complaints[i]
		kind := d.Frame.Vocabulary.Index("pain_kind", c.Kind)
		if kind < 0 || !d.Frame.Vocabulary.PainKinds[kind].NerveSign || !d.Frame.Vocabulary.Sided(c.Region) {
			continue
		}
		on[0], on[1] = on[0] || c.Side.On(0), on[1] || c.Side.On(1)
	}
	d.bothTruth(d.Frame.at.request.nerveBothSides, truth(on[0] && on[1]), Measured)
}

// complaint joins the complaints of a region on a side: the strongest, the oldest and the newest, and every word of them.
func (d *deriver) complaint(region, side int) {
	if !d.told[region].sides[side].complained {
		return
	}
	at, id := &d.Frame.at.regions[region], d.Frame.ids.regions.ids[region]
	intensity, seen := 0.0, true
	oldest, newest := Span{}, Span{daysLimit, daysLimit}
	for i := range d.Request.Complaints {
		c := &d.Request.Complaints[i]
		if !c.of(id, side) {
			continue
		}
		intensity, seen = max(intensity, c.Intensity), seen && d.lookedAt(c)
		days := daysOf(c)
		oldest = Span{max(oldest.Lo, days.Lo), max(oldest.Hi, days.Hi)}
		newest = Span{min(newest.Lo, days.Lo), min(newest.Hi, days.Hi)}
	}
	d.value(at.complaint.intensity, side, intensity)
	d.ageOf(at.complaint.days, side, oldest)
	d.ageOf(at.newestDays, side, newest)
	d.setTruth(at.lookedAt, side, truth(seen), Measured)
	d.setWords(at.kinds, side, d.ofComplaints(id, side, func(c *Complaint) string { return c.Kind }), Measured)
	d.setWords(at.moments, side, d.ofComplaints(id, side, func(c *Complaint) string { return c.Moment }), Measured)
	d.onsets(at, id, side)
}

func (c *Complaint) of(region string, side int) bool { return c.Region == region && c.Side.On(side) }

// daysOf is how long ago a complaint began; what wasn't told may be today, or any time.
func daysOf(c *Complaint) Span {
	if c.Days == 0 {
		return Span{0, daysLimit}
	}
	return Span{float64(c.Days), float64(c.Days)}
}

func (d *deriver) ageOf(at numberAt, side int, days Span) {
	status := Measured
	if !days.Known() {
		status = Unanswered
	}
	d.setNumber(at, side, days, status)
}

// ofComplaints lists one word of each complaint of a region on a side.
func (d *deriver) ofComplaints(region string, side int, word func(*Complaint) string) Set {
	from := len(d.words)
	for i := range d.Request.Complaints {
		if c := &d.Request.Complaints[i]; c.of(region, side) {
			d.words = append(d.words, word(c))
		}
	}
	return d.exactly(from)
}

// onsets of the complaints of a region on a side. One that nobody told counts as sudden, and may have been an injury.
func (d *deriver) onsets(at *regionAt, region string, side int) {
	set, untold := d.ofComplaints(region, side, onsetOf), false
	for i := range d.Request.Complaints {
		c := &d.Request.Complaints[i]
		untold = untold || c.Onset == "" && c.of(region, side)
	}
	if !untold || slices.Contains(set.Sure, "INJURY") {
		d.setWords(at.onsets, side, set, Measured)
		return
	}
	from := len(d.words)
	d.words = append(append(d.words, set.Sure...), "INJURY")
	d.setWords(at.onsets, side, Set{Sure: set.Sure, Possible: d.exactly(from).Possible}, Unanswered)
}

func onsetOf(c *Complaint) string {
	if c.Onset == "" {
		return "SUDDEN"
	}
	return c.Onset
}

// lookedAt is whether a clinician has looked at a complaint since it began; when it began must be told.
func (d *deriver) lookedAt(c *Complaint) bool {
	return c.LookedAt != 0 && c.Days > 0 && c.LookedAt >= d.Request.AsOf-Day(c.Days)
}

// sparedByLift is whether a complaint is felt in a lift that doesn't load its region.
func (d *deriver) sparedByLift(c *Complaint) bool {
	lift := d.Frame.Drills.Drill(d.Request.Lift)
	if lift == nil || slices.Contains(AroundTheLift, c.Moment) {
		return false
	}
	for i := range lift.Rows {
		for region := range lift.Rows[i].Asks() {
			if region == c.Region {
				return false
			}
		}
	}
	return true
}

// AroundTheLift are the moments that are none of a movement.
var AroundTheLift = []string{"AFTER", "NEXT_DAY", "ALWAYS"}
