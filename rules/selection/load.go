package selection

import (
	"math"
	"slices"
	"strconv"

	"drillwright/catalog"
	"drillwright/rules"
	"drillwright/rules/client"
)

// load sets the load from the log, rounded down to the step, or says how to find it. It is false when what is
// left lies below the drill's floor.
func (a *asked) load(d *catalog.Drill, side int, percent float64, dose *Dose) bool {
	switch {
	case !d.Loads || d.Tool.LoadType == "unloaded":
		dose.LoadWords = "No load."
		return true
	case !d.Lifted():
		dose.LoadWords = "Choose the resistance or angle that leaves about " + strconv.Itoa(10-dose.EffortHigh) + " good repetitions in hand."
		if dose.HoldHigh > 0 {
			dose.LoadWords = "Push or hold at an effort of " + strconv.Itoa(dose.EffortLow) + " to " + strconv.Itoa(dose.EffortHigh) + " of 10, breathing."
		}
		return true
	}
	most := a.clearedKg(d, side)
	working, known := a.working(d)
	if !known && math.IsInf(most, 1) {
		dose.LoadWords = "Start at " + rules.Figure(d.Load.FloorKg) + " kg or a little above; choose the load that leaves about " + strconv.Itoa(10-dose.EffortHigh) + " good repetitions in hand."
		return true
	}
	kg := most
	if known {
		kg = min(kg, min(working, a.target(d.ID, dose))*percent/100)
	}
	kg = math.Floor(kg/d.Load.StepKg+1e-9) * d.Load.StepKg
	if kg < d.Load.FloorKg {
		return false
	}
	if !known {
		dose.LoadWords = "At most " + rules.Figure(kg) + " kg, by the clinician's limit; start lighter."
		return true
	}
	dose.LoadKg = &kg
	dose.LoadWords = rules.Figure(kg) + " kg."
	if kg < working {
		dose.LoadWords = rules.Figure(kg) + " kg; the heaviest of late was " + rules.Figure(working) + " kg."
	}
	return true
}

// loadsBound is whether the log or a clinician binds any load.
func (a *asked) loadsBound() bool { return len(a.q.Profile.Log)+len(a.q.Profile.Clearances) > 0 }

// loadMayFall is whether the load of a drill, given by its place, is bound, and so may fall below its floor.
func (a *asked) loadMayFall(drill int) bool {
	kin := &a.e.Catalogue.Kin[drill]
	return kin.Loads && kin.Lifted && (len(a.q.Profile.Clearances) > 0 || a.heaviest(drill) > 0)
}

// clearedKg is the least load that a clinician's limits allow in the regions the drill loads.
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

// lifts is the heaviest load of late for one drill of the log.
type lifts struct {
	drill int
	kg    float64
}

// counts is whether a logged set is of the days that count.
func (a *asked) counts(s *client.LoggedSet) bool {
	return s.LoadKg > 0 && int(a.q.AsOf-s.Day) <= a.e.Frame.Measures.ValidDays.Working
}

// readLog notes the heaviest load for each drill of the log, in the days that count.
func (a *asked) readLog() {
	for i := range a.q.Profile.Log {
		s := &a.q.Profile.Log[i]
		d := a.e.Catalogue.Drill(s.Drill)
		if d == nil || !a.counts(s) {
			continue
		}
		at := slices.IndexFunc(a.lifted, func(l lifts) bool { return l.drill == d.Index })
		if at < 0 {
			at, a.lifted = len(a.lifted), append(a.lifted, lifts{drill: d.Index})
		}
		a.lifted[at].kg = max(a.lifted[at].kg, s.LoadKg)
	}
}

// heaviest is the heaviest load of late for a drill, given by its place; 0 when the log has none.
func (a *asked) heaviest(drill int) float64 {
	for _, l := range a.lifted {
		if l.drill == drill {
			return l.kg
		}
	}
	return 0
}

// working is the heaviest load of the log for a drill in the days that count.
func (a *asked) working(d *catalog.Drill) (kg float64, known bool) {
	kg = a.heaviest(d.Index)
	return kg, kg > 0
}

// target is the load for a dose by the best set of the log: its estimated most, times what the table gives for the
// repetitions of the dose and those left in hand. Without a set that can be estimated from it sets no limit.
func (a *asked) target(id string, dose *Dose) float64 {
	most, loads := 0.0, a.e.Frame.Measures.Loads
	for i := range a.q.Profile.Log {
		if s := &a.q.Profile.Log[i]; s.Drill == id && a.counts(s) && s.Reps <= loads.MaxReps {
			most = max(most, EstimateMax(loads.Formula, s.LoadKg, s.Reps))
		}
	}
	if most == 0 || dose.RepsHigh == 0 {
		return math.Inf(1)
	}
	return most * Percent(loads.Percent, dose.RepsHigh+10-dose.EffortHigh) / 100
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
