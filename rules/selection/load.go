package selection

import (
	"cmp"
	"math"
	"slices"
	"strconv"

	"drillwright/catalog"
	"drillwright/rules"
	"drillwright/rules/client"
)

// weighed is false where what a side may lift, by the log, by what adjusts the load and by a clinician, lies below what the
// drill starts at. It is rounded down to the step.
func (a *asked) weighed(d *catalog.Drill, percent float64, own *sideDose) bool {
	own.most = a.clearedKg(d, own.side)
	if !d.Loads || !d.Lifted() {
		return true
	}
	if working, known := a.working(d); known {
		own.most = min(own.most, min(working, a.target(d.Index, &own.Dose))*percent/100)
	}
	if math.IsInf(own.most, 1) {
		return true
	}
	own.most = math.Floor(own.most/d.Load.StepKg+1e-9) * d.Load.StepKg
	return own.most >= d.Load.FloorKg
}

// load says the load of a dose, or how to find it.
func (a *asked) load(d *catalog.Drill, dose *sideDose) {
	working, known := a.working(d)
	most, left := rules.Figure(dose.most)+" kg", strconv.Itoa(10-dose.EffortHigh)+" good repetitions in hand."
	switch {
	case !d.Loads || d.Tool.LoadType == "unloaded":
		dose.LoadWords = "No load."
	case !d.Lifted() && dose.HoldHigh > 0:
		dose.LoadWords = "Push or hold at an effort of " + strconv.Itoa(dose.EffortLow) + " to " +
			strconv.Itoa(dose.EffortHigh) + " of 10, breathing."
	case !d.Lifted():
		dose.LoadWords = "Choose the resistance or angle that leaves about " + left
	case math.IsInf(dose.most, 1):
		dose.LoadWords = "Start at " + rules.Figure(d.Load.FloorKg) + " kg or a little above; choose the load that leaves about " + left
	case !known:
		dose.LoadWords = "At most " + most + ", by the clinician's limit; start lighter."
	case dose.most < working:
		dose.LoadKg, dose.LoadWords = new(dose.most), most+"; the heaviest of late was "+rules.Figure(working)+" kg."
	default:
		dose.LoadKg, dose.LoadWords = new(dose.most), most+"."
	}
	if d.Loads && !d.Lifted() && !math.IsInf(dose.most, 1) {
		dose.LoadWords += " Never more than " + most + ", by the clinician's limit."
	}
}

// loadsBound is whether the log or a clinician binds any load.
func (a *asked) loadsBound() bool { return len(a.q.Profile.Log)+len(a.q.Profile.Clearances) > 0 }

// loadMayFall is whether the load of a drill, given by its place, is bound, and so may fall below its floor.
func (a *asked) loadMayFall(drill int) bool {
	kin := &a.e.Catalogue.Kin[drill]
	return kin.Loads && kin.Lifted && (len(a.q.Profile.Clearances) > 0 || a.heaviest(drill) > 0)
}

// clearedKg is the least load that a clinician's limits allow in the regions that a drill loads while a side works: those
// of that side, and those of the other that prop or hold.
func (a *asked) clearedKg(d *catalog.Drill, side int) float64 {
	most := math.Inf(1)
	if len(a.q.Profile.Clearances) == 0 {
		return most
	}
	for i := range d.Rows {
		for region := range d.Rows[i].Asks() {
			if limit := a.facts.Number("client.limit.load_kg."+region, side^i); limit.Known() {
				most = min(most, limit.Lo)
			}
		}
	}
	return most
}

// lifts is what the log says of late of one drill: the heaviest load, and the most that a set of it lets estimate (0: none
// does).
type lifts struct {
	drill    int
	kg, most float64
}

// counts is whether a logged set is of the days that count.
func (a *asked) counts(s *client.LoggedSet) bool {
	return s.LoadKg > 0 && int(a.q.AsOf-s.Day) <= a.e.Frame.Measures.ValidDays.Working
}

// readLog notes what each drill of the log was lifted with, in the days that count, in order of their places.
func (a *asked) readLog() {
	loads := &a.e.Frame.Measures.Loads
	for i := range a.q.Profile.Log {
		if i%client.Stride == 0 && a.q.Abandoned() {
			return
		}
		s := &a.q.Profile.Log[i]
		if !a.counts(s) {
			continue
		}
		d := a.e.Catalogue.Drill(s.Drill)
		if d == nil {
			continue
		}
		l := lifts{drill: d.Index, kg: s.LoadKg}
		if s.Reps <= loads.MaxReps {
			l.most = EstimateMax(loads.Formula, s.LoadKg, s.Reps)
		}
		a.lifted = append(a.lifted, l)
	}
	slices.SortFunc(a.lifted, func(x, y lifts) int { return cmp.Compare(x.drill, y.drill) })
	all := a.lifted
	a.lifted = a.lifted[:0]
	for _, l := range all {
		if last := len(a.lifted) - 1; last >= 0 && a.lifted[last].drill == l.drill {
			a.lifted[last].kg, a.lifted[last].most = max(a.lifted[last].kg, l.kg), max(a.lifted[last].most, l.most)
		} else {
			a.lifted = append(a.lifted, l)
		}
	}
	clear(all[len(a.lifted):])
}

// liftsOf is what the log says of late of a drill, given by its place; nothing where it has none.
func (a *asked) liftsOf(drill int) lifts {
	if at, ok := slices.BinarySearchFunc(a.lifted, drill, func(l lifts, drill int) int { return cmp.Compare(l.drill, drill) }); ok {
		return a.lifted[at]
	}
	return lifts{}
}

// heaviest is the heaviest load of late for a drill, given by its place; 0 when the log has none.
func (a *asked) heaviest(drill int) float64 { return a.liftsOf(drill).kg }

// working is the heaviest load of the log for a drill in the days that count.
func (a *asked) working(d *catalog.Drill) (kg float64, known bool) {
	kg = a.heaviest(d.Index)
	return kg, kg > 0
}

// target is the load for a dose by the best set of the log: its estimated most, times what the table gives for the
// repetitions of the dose and those left in hand. Without a set that can be estimated from it sets no limit.
func (a *asked) target(drill int, dose *Dose) float64 {
	most := a.liftsOf(drill).most
	if most == 0 || dose.RepsHigh == 0 {
		return math.Inf(1)
	}
	return most * Percent(a.e.Frame.Measures.Loads.Percent, dose.RepsHigh+10-dose.EffortHigh) / 100
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
