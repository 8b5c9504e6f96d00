package client

// Where a fact is kept: its slot among the facts of its kind, and the index of its path in the table. Reading a
// client writes by these; names are for rules and for people.
type (
	kept     struct{ slot, path int32 }
	numberAt kept
	truthAt  kept
	wordsAt  kept // of words and lists
)

// slots holds where every fact is kept, each list in the order of the vocabulary or of the questions.
type slots struct {
	person  personAt
	motions []motionAt
	regions []regionAt
	tests   []bestFields
	answers []truthAt
	// weekSets counts sets by pattern; allowed grades stressors.
	weekSets, allowed []numberAt
	request           requestAt
}

// What is reported directly is kept where fields_gen.go says; the rest is worked out.

type personAt struct {
	profileFields
	pregnancyFields
	bloodPressureFields
	hypermobile                                                    truthAt
	conditions, pastConditions, byClinician, medicines, operations wordsAt
	familiar, worsened                                             wordsAt
	// conditionDays count since each condition of the vocabulary, operationWeeks since each procedure; not stated where there is none.
	conditionDays, operationWeeks []numberAt
}

// motionAt has nothing but strength and holds for a motion that has no range.
type motionAt struct {
	region                                  int32 // its index
	hasRange, sided                         bool
	name                                    string
	strength, hold, active, passive, margin numberAt
	gapStrength, gapHold, gapRange, normLow numberAt
	painfulFrom, painfulTo, limitRange      numberAt
	// shown is how far the lift is loaded in it, where the lift shows the rung of its region.
	shown numberAt
}

// quantity is what is measured of a motion.
type quantity uint8

const (
	strength quantity = iota
	hold
	active
	passive
)

// number is where a quantity is kept; false when the motion hasn't got it.
func (m *motionAt) number(what quantity) (numberAt, bool) {
	switch what {
	case strength:
		return m.strength, true
	case hold:
		return m.hold, true
	case active:
		return m.active, m.hasRange
	default:
		return m.passive, m.hasRange
	}
}

// spoken is what a sentence calls the strength or the hold of a motion.
func (m *motionAt) spoken(held bool) string {
	if held {
		return "a hold of " + m.name
	}
	return "the strength of " + m.name
}

type regionAt struct {
	painFields
	limit                        clearanceFields
	complaint                    complaintFields
	irritability                 wordsAt
	rung                         numberAt
	inQuestion, surgery, cleared truthAt
	// surgeryCleared is of limits given since the operation, surgeryWeeks counts since the last, trainedSince is of all.
	surgeryCleared, trainedSince, healingBone truthAt
	restTold                                  numberAt // the score of today; 0 where there is none
	nerveExplained, sore                      truthAt
	tendonNamed                               truthAt // a clinician named a tendon condition there
	// otherSide is whether the other side is in question; quietSide is of one of which nothing was told beside one that is in question;
	// rungByLift is where the lift shows the rung.
	otherSide, quietSide, rungByLift truthAt
	surgeryWeeks, entryRung          numberAt
	// rungSince is whether the rung was set since the complaint began.
	rungSince, lookedAt    truthAt
	newestDays             numberAt
	kinds, moments, onsets wordsAt
	clearanceDays          numberAt // since the last clearance that stands was given
	// spoken is what a sentence calls it: the shoulder.
	spoken string
}

type requestAt struct {
	requestFields
	complained, nerveBothSides truthAt
	side                       wordsAt
}
