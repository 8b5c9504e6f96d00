package client

// Pace says which side sets the pace: what a drill looks at to begin with the limiting side.
type Pace struct {
	rung, complaint []int8 // by region: the side with the lower rung, with the stronger complaint; -1 neither
	short           []shortSide
}

// shortSide is a motion of a region in which a side is clearly weaker or reaches clearly less far.
type shortSide struct{ region, side int }

// Pace compares the sides of every region; what stood in p is written over.
func (f *Facts) Pace(p *Pace) {
	at, gaps := &f.Frame.at, &f.Frame.Measures.LimitingGap
	p.rung, p.complaint, p.short = p.rung[:0], p.complaint[:0], p.short[:0]
	number := func(at numberAt, side int) Span { return f.Num[side][at.slot] }
	for i := range at.regions {
		r := &at.regions[i]
		p.rung = append(p.rung, lower(number(r.rung, 0).Lo, number(r.rung, 1).Lo))
		p.complaint = append(p.complaint, lower(number(r.complaint.intensity, 1).Lo, number(r.complaint.intensity, 0).Lo))
	}
	short := func(region int, gap numberAt, least float64) {
		for side := range 2 {
			if g := number(gap, side); g.Known() && g.Lo >= least {
				p.short = append(p.short, shortSide{region, side})
				return
			}
		}
	}
	for i := range at.motions {
		short(int(at.motions[i].region), at.motions[i].gapStrength, gaps.StrengthPercent)
	}
	for i := range at.motions {
		short(int(at.motions[i].region), at.motions[i].gapHold, gaps.HoldPercent)
	}
	for i := range at.motions {
		if at.motions[i].hasRange {
			short(int(at.motions[i].region), at.motions[i].gapRange, gaps.RangeDeg)
		}
	}
}

// Forget leaves nothing of the client in p.
func (p *Pace) Forget() {
	clear(p.rung)
	clear(p.complaint)
	clear(p.short)
}

// lower is the index of the lower of two values; -1 when they are equal.
func lower(left, right float64) int8 {
	switch {
	case left < right:
		return 0
	case right < left:
		return 1
	}
	return -1
}

// Limiting is the side that sets the pace in some regions, given by their indexes: the lower rung; then the stronger
// complaint; then clearly less strength or hold; then clearly less range. -1: either.
func (p *Pace) Limiting(regions []int) int {
	for _, r := range regions {
		if p.rung[r] >= 0 {
			return int(p.rung[r])
		}
	}
	for _, r := range regions {
		if p.complaint[r] >= 0 {
			return int(p.complaint[r])
		}
	}
	for _, s := range p.short {
		for _, r := range regions {
			if r == s.region {
				return s.side
			}
		}
	}
	return -1
}
