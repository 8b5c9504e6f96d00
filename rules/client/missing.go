package client

import (
	"cmp"
	"slices"
)

// Lacks are the fields that weren't told of complaints that are mild but for them, or of which scores are presumed: each once, those of
// a complaint before the others.
func (f *Facts) Lacks() []Lack {
	var out []Lack
	for region := range f.told {
		for side := range 2 {
			w := f.weighMild(region, side)
			if w.not {
				continue
			}
			if w.holds() && f.presumesPain(region, side) {
				w.unreported = append(w.unreported, Lack{Field: fieldPain})
			}
			for _, l := range w.unreported {
				if !slices.Contains(out, l) {
					out = append(out, l)
				}
			}
		}
	}
	slices.SortStableFunc(out, func(x, y Lack) int {
		return cmp.Compare(cmp.Or(x.Complaint, maxComplaints), cmp.Or(y.Complaint, maxComplaints))
	})
	return out
}

// maxComplaints is more than a request may have.
const maxComplaints = 1000

// Fields of a request beside those of a complaint.
const (
	fieldPain = "profile.pain"
	fieldAge  = "profile.age_years"
)

// presumesPain is whether a score of a side of a region is presumed of a mild complaint.
func (f *Facts) presumesPain(region, side int) bool {
	at := &f.Frame.at.regions[region]
	presumed := func(path int32) bool { return f.Status[side][path] == Presumed }
	return presumed(at.rest.path) || presumed(at.worst.path) || presumed(at.settleHours.path) || presumed(at.wakesAtNight.path)
}

// usualAge and usualDays stand for what wasn't told in a request as it might be told.
const usualAge, usualDays = 40, 21

// Completed is the request with what is lacking told as a mild complaint would tell it.
func (f *Facts) Completed(lacks []Lack) *Request {
	q, p, m := *f.Request, *f.Request.Profile, f.Frame.Measures.Mild
	q.Profile, q.Complaints, p.Answers = &p, slices.Clone(q.Complaints), slices.Clone(p.Answers)
	scores := false
	for _, l := range lacks {
		switch {
		case l.Question != nil:
			no := Answer{Question: l.Question.ID, Is: "NO", Day: q.AsOf, ComplaintInView: true}
			p.Answers = append([]Answer{no}, p.Answers...) // the first answer counts
		case l.Complaint > 0:
			c := &q.Complaints[l.Complaint-1]
			c.Kind, c.Onset = cmp.Or(c.Kind, m.Kinds[0]), cmp.Or(c.Onset, "GRADUAL")
			c.Moment, c.Days = cmp.Or(c.Moment, m.Moments[0]), cmp.Or(c.Days, max(usualDays, m.LeastDays))
		case l.Field == fieldAge:
			p.AgeYears = new(max(usualAge, m.AgeFrom))
		default:
			scores = true
		}
	}
	if scores {
		p.Pain = f.calmed(q.Complaints)
	}
	return &q
}

// calmed are the scores with those that weren't told of what is complained of told as calm.
func (f *Facts) calmed(complaints []Complaint) []Pain {
	var out []Pain
	for region, id := range f.Frame.ids.regions.ids {
		for side := range 2 {
			t := &f.told[region].sides[side]
			if !t.complained {
				continue
			}
			one := Pain{Region: id, Side: Sides[side], Day: f.Request.AsOf}
			if t.pain != nil {
				one = *t.pain
				one.Side = Sides[side]
			}
			calm, worst := 0.0, 0.0
			for i := range complaints {
				if c := &complaints[i]; c.of(id, side) {
					worst = max(worst, c.Intensity)
				}
			}
			reported := func(had *float64, v float64) *float64 {
				if had != nil {
					return had
				}
				return &v
			}
			one.Rest, one.Worst, one.NextDay = reported(one.Rest, calm), reported(one.Worst, worst), reported(one.NextDay, calm)
			one.SettleHours = reported(one.SettleHours, calm)
			if one.WakesAtNight == nil {
				one.WakesAtNight = new(bool)
			}
			out = append(out, one)
		}
	}
	for _, p := range f.Request.Profile.Pain {
		if !slices.ContainsFunc(out, func(have Pain) bool { return have.Region == p.Region }) {
			out = append(out, p)
		}
	}
	return out
}
