package selection

import (
	"cmp"
	"iter"
	"math"
	"slices"

	"drillwright/catalog"
	"drillwright/rules/client"
)

// load is what is known of the load of a drill on a side, and where it comes from.
type load struct {
	// most is the most kilograms that may be added; +Inf where nothing says. A load is named only where a set stands behind it.
	most  float64
	set   *client.LoggedSet
	share *client.Share // where the set is of another drill
	kg    float64       // what the set gives before anything is taken off
	// worked is whether kg was worked out for the repetitions of the dose, and came out below what was lifted.
	worked  bool
	reps    int // of that dose, and its effort
	effort  int
	rested  int // days without the drill, where something is taken off for them
	percent float64
	why     soreReason
	bound   bound
	hurt    *client.LoggedSet // the set that hurt and bounds the load
	limit   float64           // of a clinician; +Inf where there is none
	rounded bool
}

// bound is what the load comes down to in the end.
type bound uint8

const (
	byLog bound = iota
	byHurt
	byOther
	byClinician
)

// bounded is whether anything says how much may be lifted.
func (l *load) bounded() bool { return !math.IsInf(l.most, 1) }

// weighed is false where what a side may lift, by the log, by what adjusts the load and by a clinician, lies below what the
// drill starts at, or its own body weight above it. It is rounded down to the step.
func (a *asked) weighed(d *catalog.Drill, percent float64, own *sideDose) bool {
	own.load = load{most: math.Inf(1)}
	switch {
	case d.Loads && d.Lifted():
		a.fromLog(d, percent, own)
	case d.Loads:
		own.most = a.leftByLift(d, percent, own.side)
	}
	if own.limit = a.clearedKg(d, own.side); own.limit < own.most {
		own.most, own.bound = own.limit, byClinician
	}
	switch {
	case !d.Loads || !own.bounded():
		return true
	case !d.Lifted():
		return own.most >= 0
	}
	steps := math.Floor((own.most-d.Load.FloorKg)/d.Load.StepKg + 1e-9)
	down := d.Load.FloorKg + steps*d.Load.StepKg
	own.rounded = down < own.most-1e-9
	own.most = down
	return own.most >= d.Load.FloorKg
}

// loadsBound is whether the log or a clinician binds any load.
func (a *asked) loadsBound() bool { return len(a.q.Profile.Log)+len(a.q.Profile.Clearances) > 0 }

// loadMayFall is whether the load of a drill, given by its index, is bound, and so may fall below its floor.
func (a *asked) loadMayFall(drill int) bool {
	kin := &a.e.Catalogue.Features[drill]
	switch {
	case !kin.Loads:
		return false
	case len(a.q.Profile.Clearances) > 0 && (kin.Lifted || kin.BodyShare > 0):
		return true
	case kin.Lifted:
		return len(a.setsOf(drill)) > 0 || a.logsRelative(a.e.Catalogue.Drills[drill])
	}
	lift := a.e.Catalogue.Drill(a.q.Lift)
	return kin.BodyShare > 0 && lift != nil && a.heavierThanLift(a.e.Catalogue.Drills[drill], lift)
}

// logged are the drills, by their indexes, whose load the log may bind: those in it, and those with a share of one in it.
func (a *asked) logged() iter.Seq[int] {
	return func(yield func(int) bool) {
		for _, l := range a.lifted {
			if !yield(l.drill) {
				return
			}
		}
		for _, drill := range a.relatives {
			if !yield(drill) {
				return
			}
		}
	}
}

// clearedKg is the least that a clinician's limits leave in the regions that a drill loads while a side works: those of that side,
// and those of the other that prop or hold. Of what drives or supports, the body's own weight is taken off.
func (a *asked) clearedKg(d *catalog.Drill, side int) float64 {
	most := math.Inf(1)
	if len(a.q.Profile.Clearances) == 0 {
		return most
	}
	for i := range d.Rows {
		row := &d.Rows[i]
		for region := range row.Asks() {
			if limit := a.facts.Number("client.limit.load_kg."+region, side^i); limit.Known() {
				most = min(most, limit.Lo-a.bodyKg(d, row, region))
			}
		}
	}
	return most
}

// bodyKg is the weight of the body that a drill puts on a region, as far as the body's mass is known.
func (a *asked) bodyKg(d *catalog.Drill, row *catalog.Row, region string) float64 {
	if on := row.Load(region); d.Load.BodyShare == 0 || on == nil || on.Role == "brace" {
		return 0
	}
	return a.ownWeight(d)
}

// ownWeight is the part of the body's mass that a drill moves; 0 while that isn't told: the rules that read it then want a test.
func (a *asked) ownWeight(d *catalog.Drill) float64 {
	if mass := a.q.Profile.BodyMassKg; mass != nil {
		return d.Load.BodyShare * *mass / 100
	}
	return 0
}

// leftByLift is how much more than the body's own weight a drill might move in place of a lift whose load is known, on a side where it
// loads a sore region; below 0 it moves too much. +Inf where there is nothing to compare.
func (a *asked) leftByLift(d *catalog.Drill, percent float64, side int) float64 {
	lift := a.e.Catalogue.Drill(a.q.Lift)
	if lift == nil || !a.heavierThanLift(d, lift) {
		return math.Inf(1)
	}
	if on := a.soreOn(d, side); on.sore {
		return (a.heaviest(lift.Index)+a.ownWeight(lift))*min(percent, a.start().SorePercent)/100 - a.ownWeight(d)
	}
	return math.Inf(1)
}

// heavierThanLift is whether a drill of the body's own weight may be heavier than the lift: they have one pattern and as many sides, and
// both weights are known.
func (a *asked) heavierThanLift(d, lift *catalog.Drill) bool {
	return d.Load.BodyShare > 0 && !d.Lifted() && lift.FreeWeight() && d.Sides == lift.Sides &&
		d.Pattern == lift.Pattern && a.ownWeight(d) > 0 && a.heaviest(lift.Index) > 0
}

// start is what is taken off a logged set.
func (a *asked) start() *client.LoadStart { return &a.e.Frame.Measures.Loads.Start }

// lifts is a logged set with a load, in the days that count, by the index of its drill.
type lifts struct {
	drill int
	set   *client.LoggedSet
}

// readLog notes the sets of the log that say something of loads, in order of the places of their drills, and the drills that have a
// share of one of those.
func (a *asked) readLog() {
	for i := range a.q.Profile.Log {
		if i%client.Stride == 0 && a.q.Abandoned() {
			return
		}
		s := &a.q.Profile.Log[i]
		if s.LoadKg <= 0 || int(a.q.AsOf-s.Day) > a.e.Frame.Measures.ValidDays.Working {
			continue
		}
		if d := a.e.Catalogue.Drill(s.Drill); d != nil {
			a.lifted = append(a.lifted, lifts{d.Index, s})
		}
	}
	slices.SortStableFunc(a.lifted, func(x, y lifts) int { return cmp.Compare(x.drill, y.drill) })
	if len(a.lifted) == 0 {
		return
	}
	for _, share := range a.e.Frame.Measures.Loads.Shares.Of {
		from, to := a.e.Catalogue.Drill(share.From), a.e.Catalogue.Drill(share.Drill)
		if from != nil && to != nil && len(a.setsOf(from.Index)) > 0 {
			a.relatives = append(a.relatives, to.Index)
		}
	}
}

// setsOf are the sets of a drill, given by its index.
func (a *asked) setsOf(drill int) []lifts {
	from, _ := slices.BinarySearchFunc(a.lifted, drill, func(l lifts, drill int) int { return cmp.Compare(l.drill, drill) })
	to, _ := slices.BinarySearchFunc(a.lifted, drill+1, func(l lifts, drill int) int { return cmp.Compare(l.drill, drill) })
	return a.lifted[from:to]
}

// heaviest is the heaviest load of late for a drill, given by its index; 0 when the log has none.
func (a *asked) heaviest(drill int) (kg float64) {
	for _, l := range a.setsOf(drill) {
		kg = max(kg, l.set.LoadKg)
	}
	return kg
}

// working is the heaviest load of the log for a drill in the days that count.
func (a *asked) working(d *catalog.Drill) (kg float64, known bool) {
	kg = a.heaviest(d.Index)
	return kg, kg > 0
}

// EstimateMax estimates, in kilograms, what can be lifted once from a set to the limit. Formulas: epley
// w(1 + r/30), brzycki 36w/(37 - r); one repetition is itself. It is 0 for no repetitions.
func EstimateMax(formula string, kg float64, reps int) float64 {
	switch {
	case reps < 1:
		return 0
	case reps == 1:
		return kg
	case formula == "epley":
		return kg * (1 + float64(reps)/30)
	default:
		return kg * 36 / (37 - float64(min(reps, 36)))
	}
}

// Percent reads the table of loads, in percent of the most: between two rows on the line, beyond the last row the last.
func Percent(table []client.RepPercent, reps int) float64 {
	for i, row := range table {
		switch {
		case row.Reps == reps || i == 0 && reps < row.Reps:
			return row.Percent
		case row.Reps > reps:
			before := table[i-1]
			part := float64(reps-before.Reps) / float64(row.Reps-before.Reps)
			return before.Percent + part*(row.Percent-before.Percent)
		}
	}
	return table[len(table)-1].Percent
}
