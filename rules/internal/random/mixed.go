package random

import "fmt"

// figures draws a comparison of one drill number, perhaps with a constant, against numbers of the client.
func (a *author) figures() string {
	m, region := pick(a.dice, a.motions), pick(a.dice, a.regions)
	part := pick(a.dice, arcParts)
	switch a.weighted(4, 3, 3, 2, 2, 2, 3, 3, 2, 2, 1) {
	case 0:
		return fmt.Sprintf("drill.arc.%s.%s > client.range.%s + client.margin.%s", m, part, m, m)
	case 1:
		return fmt.Sprintf("drill.arc.%s.%s > client.range.%s + client.margin.%s - %d", m, part, m, m, 5*a.between(1, 3))
	case 2:
		return fmt.Sprintf("drill.arc.%s.to - %d >= client.range.%s * %g", m, 5*a.between(1, 4), m, pick(a.dice, []float64{0.5, 0.75, 0.9}))
	case 3:
		return fmt.Sprintf("client.painful.%s.from < drill.arc.%s.loaded.to", m, m)
	case 4:
		return fmt.Sprintf("drill.arc.%s.%s > norm.low.%s - %d", m, part, m, 5*a.between(0, 3))
	case 5:
		return fmt.Sprintf("drill.arc.%s.to > client.limit.range.%s", m, m)
	case 6:
		return fmt.Sprintf("drill.rung.%s > client.rung.%s", region, region)
	case 7:
		s := pick(a.dice, a.voc.IDs("stressor"))
		return fmt.Sprintf("drill.stressor.%s > request.allowed.%s", s, s)
	case 8:
		return fmt.Sprintf("drill.floor_kg > client.body_mass_kg / %d", a.between(3, 8))
	case 9:
		return fmt.Sprintf("drill.skill > (client.supervised ? 3 : %d)", a.between(0, 2))
	default:
		return fmt.Sprintf("drill.floor_kg > client.limit.load_kg.%s", region)
	}
}

// overlap draws a list or a word of the drill against a list of the client or the request.
func (a *author) overlap() string {
	return pick(a.dice, []string{
		"any(drill.kit, # in client.kit)",
		"all(drill.kit, # in client.kit)",
		"any(drill.kit, # in request.kit_taken)",
		"any(client.conditions, # in drill.contraindications)",
		"any(drill.contraindications, # in client.conditions_by_clinician)",
		"any(drill.contraindications, # in client.past_conditions)",
		fmt.Sprintf("any(drill.contraindications, # in client.conditions and # in %s)", quoted(some(a.dice, a.conditions, 6, 12))),
		"drill.station in request.stations_taken",
		"drill.id in client.disliked",
		"drill.id in client.familiar",
		"drill.family in client.goal_lifts",
	})
}

// ofLift draws an atom over the lift, alone or beside the drill.
func (a *author) ofLift() string {
	m := pick(a.dice, a.motions)
	return pick(a.dice, []string{
		"drill.pattern == lift.pattern",
		"drill.kind == lift.kind",
		"drill.family == lift.family",
		"drill.tool == lift.tool",
		"drill.sides == lift.sides",
		"drill.main_region == lift.main_region",
		"lift.overhead",
		"lift.push",
		fmt.Sprintf("lift.pattern == '%s'", pick(a.dice, a.voc.IDs("pattern"))),
		"drill.skill <= lift.skill",
		"drill.floor_kg < lift.floor_kg",
		"any(lift.prime, # in drill.prime)",
		fmt.Sprintf("drill.arc.%s.to < lift.arc.%s.to - %d", m, m, 5*a.between(0, 4)),
	})
}

// entangled draws a comparison in which the drill can't be isolated: two of its numbers, or one that it chooses.
func (a *author) entangled() string {
	m := pick(a.dice, a.motions)
	switch a.IntN(5) {
	case 0:
		return fmt.Sprintf("drill.arc.%s.to - drill.arc.%s.from > client.range.%s", m, m, m)
	case 1:
		return fmt.Sprintf("drill.spine.compression + drill.spine.flexed >= client.confidence - %d", a.between(1, 6))
	case 2:
		return fmt.Sprintf("(drill.%s ? 10 : 0) + client.confidence > %d", pick(a.dice, drillBools), a.between(6, 16))
	case 3:
		return fmt.Sprintf("client.range.%s < (client.hypermobile ? drill.arc.%s.to : drill.arc.%s.to - 10)", m, m, m)
	default:
		return fmt.Sprintf("drill.arc.%s.to > (drill.overhead ? 150 : 120) - client.margin.%s", m, m)
	}
}

// member stands for a member of a domain in the words of a rule.
var member = map[string]string{"motions": "motion", "regions": "region", "stressors": "stressor"}

// overDomain draws the nth any or all over a domain. Three in four go over the motions, one of them through all.
func (a *author) overDomain(nth int) (domain, text string) {
	switch nth % 4 {
	case 0:
		return "motions", pick(a.dice, []string{
			"any(motions, drill.arc[#].to > client.range[#] + client.margin[#])",
			fmt.Sprintf("any(motions, drill.arc[#].to - %d > client.range[#] + client.margin[#])", 5*a.between(1, 3)),
			"any(motions, drill.arc[#].to > client.limit.range[#])",
			fmt.Sprintf("any(motions, drill.arc[#].hardest > client.range[#] * %g)", pick(a.dice, []float64{0.75, 0.9})),
		})
	case 1:
		return "motions", pick(a.dice, []string{
			"any(motions, drill.arc[#].loaded.to > client.painful[#].from and drill.arc[#].loaded.from < client.painful[#].to)",
			fmt.Sprintf("any(motions, drill.arc[#].to > norm.low[#] and client.gap.range[#] > %d)", 5*a.between(1, 3)),
			"any(motions, drill.arc[#].loaded.to > client.range[#] - client.margin[#] and client.gap.strength[#] > 15)",
		})
	case 2:
		return "", fmt.Sprintf("all(motions, not (drill.arc[#].to > client.range[#] - client.margin[#] - %d))", 5*a.between(0, 3))
	}
	if a.chance(0.5) {
		return "stressors", "any(stressors, drill.stressor[#] > request.allowed[#])"
	}
	return "regions", pick(a.dice, []string{
		"any(regions, drill.rung[#] > client.rung[#])",
		fmt.Sprintf("any(regions, request.complaint[#].intensity >= %d and drill.rung[#] >= 2)", a.between(2, 5)),
		"any(regions, client.in_question[#] and client.irritability[#] == 'high' and drill.role[#] in ['drive', 'support'])",
	})
}
