package client

// Where a fact is kept: its slot among the facts of its kind, and the place of its path in the table. Reading a
// client writes by these; names are for rules and for people.
type (
	kept     struct{ slot, path int32 }
	numberAt kept
	truthAt  kept
	wordsAt  kept // of words and lists
)

// places holds where every fact is kept, each list in the order of the vocabulary or of the questions.
type places struct {
	person  personAt
	motions []motionAt
	regions []regionAt
	tests   []testAt
	answers []truthAt
	// weekSets counts sets by pattern; allowed grades stressors.
	weekSets, allowed []numberAt
	request           requestAt
}

type personAt struct {
	age, mass, beighton, confidence, programmeWeek, weeks, postnatalWeeks, systolic, diastolic numberAt
	section, agreed, hypermobile, painkiller, supervised, guardian                             truthAt
	sex, training, dominantSide                                                                wordsAt
	conditions, pastConditions, byClinician, medicines, kit, disliked, goalLifts, familiar     wordsAt
}

// motionAt has nothing but strength and holds for a motion that has no range.
type motionAt struct {
	region                                      int // its place
	hasRange                                    bool
	strength, hold, gapStrength, gapHold        numberAt
	active, passive, margin, gapRange           numberAt
	painfulFrom, painfulTo, limitRange, normLow numberAt
	// What a sentence calls its strength and its hold.
	ofStrength, ofHold string
}

type regionAt struct {
	rest, worst, nextDay, settleHours        numberAt
	wakes                                    truthAt
	irritability                             wordsAt
	rung                                     numberAt
	inQuestion, surgery, cleared, noOverhead truthAt
	limitLoad, intensity, days               numberAt
	kinds, moments, onsets                   wordsAt
	// spoken is what a sentence calls it: the shoulder.
	spoken string
}

type testAt struct {
	sets, reps, load, pain numberAt
	form                   wordsAt
}

type requestAt struct {
	kitTaken, stationsTaken wordsAt
	minutes                 numberAt
	side                    wordsAt
}
