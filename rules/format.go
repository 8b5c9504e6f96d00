package rules

import (
	"fmt"
	"strconv"
	"strings"

	"go.yaml.in/yaml/v3"

	"drillwright/catalog/authored"
)

// Format is the number of the format of editions that this program reads; about: format: says which one an edition is in, and
// an edition that doesn't say is in the first. It rises when reading becomes stricter, and gained then says what an older
// edition can be given by itself.
const Format = 3

// gain is what a format adds to an edition: a key of parts that there were before it, or a part.
type gain struct {
	format int    // the first that has it
	list   string // where the parts stand: a top key, and the keys under it
	key    string // of each part
	part   string // or the id of a part; * for the whole list, where no file has it
	// older is whether a value is one of before the format, which the new one replaces; nil where no value was.
	older func(*yaml.Node) bool
}

// gained is what an edition of an older format takes over from the one that comes with the program: a part the keys of the part
// with its id, a list its new parts. It is for what reading doesn't ask for, and would take for nothing; what it asks for, it
// derives itself as a fix where it can, and else somebody must decide.
var gained = []gain{
	{format: 2, list: "vocabulary.regions", key: "felt_in"},
	{format: 2, list: "vocabulary.motions", key: "loose_from_deg"},
	{format: 2, list: "vocabulary.load_types", key: "weight"},
	{format: 2, list: "vocabulary.conditions", key: "laxity"},
	{format: 2, list: "vocabulary.conditions", key: "explains_nerve"},
	{format: 2, list: "vocabulary.conditions", key: "bone"},
	{format: 2, list: "vocabulary.conditions", key: "unplaced"},
	{format: 2, list: "vocabulary.conditions", part: "fracture"},
	{format: 2, list: "vocabulary.procedures", part: "*"},
	{format: 2, list: "vocabulary.pain_kinds", key: "nerve_sign"},
	{format: 2, list: "drills", key: "bears_on"},
	{format: 2, list: "measures", key: "pressure_when_denied"},
	{format: 2, list: "measures", key: "bone_heals_days"},
	{format: 3, list: "measures.loads", key: "start"},
	{format: 3, list: "substitute.test_set", key: "heavy"},
	{format: 3, list: "substitute.test_set", key: "sore"},
	{format: 3, list: "measures", key: "mild"},
	{format: 3, list: "substitute", key: "near_enough"},
	{format: 3, list: "substitute", key: "elsewhere_at_most"},
	{format: 2, list: "screening.questions", key: "settled_by"},
	{format: 2, list: "screening.questions", key: "contradicted_by"},
	{format: 2, list: "cautions", key: "emergency"},
	{format: 2, list: "rules", key: "source", older: writtenOut},
}

// writtenOut is whether a source of the first format cites in words: an id has no blanks.
func writtenOut(source *yaml.Node) bool {
	return strings.Contains(textUnder(source, "cite"), " ")
}

// OldFormat says that an edition is of a format before Format. It is never served, nor read on: what a stricter reading
// would find unsaid would count as said to be nothing.
type OldFormat struct {
	Format int
	// Missing is what the format of this program has and the files lack, at its place in them: with a Fix where it can be
	// derived, without where somebody must decide. The first is the number itself, unless the files have it.
	Missing authored.Problems
	// Renewed names the files that nobody has edited since they came with an earlier program, and that are as they come with
	// this one in Upgraded: there or gone, or there for the first time.
	Renewed []string
	// Added names the files of Upgraded that are new, but for those in Renewed.
	Added []string
	// Upgraded are the files with all that can be derived, and the number. What is left to decide is wrong in them.
	Upgraded []authored.File
	// Edition is what they say; nil while something is left to decide.
	Edition *Edition
}

func (o *OldFormat) Error() string {
	derived, left := o.Counts()
	text := fmt.Sprintf("it is of format %d, and this program reads format %d; drillwright book upgrade adds %d of what is missing",
		o.Format, Format, derived)
	if left > 0 {
		text += fmt.Sprintf(", and somebody must decide %d", left)
	}
	return text
}

// Unwrap makes the error authored.Problems too.
func (o *OldFormat) Unwrap() error { return o.Missing }

// Counts is how much of what is missing can be derived, and how much somebody must decide.
func (o *OldFormat) Counts() (derived, left int) {
	for _, p := range o.Missing {
		if p.Fix != nil {
			derived++
		}
	}
	return derived, len(o.Missing) - derived
}

// formatOf is the number that an edition says, and where. What isn't a number is left to be reported when the book is read.
func (r *editionReader) formatOf() (number int, at authored.Pos, about *yaml.Node) {
	number = 1
	each(r.tops([]string{"about"}), []string{"about"}, func(_ string, n *yaml.Node) {
		v := under(n, "format")
		if about == nil || v != nil {
			at, about = r.At(n), n
		}
		if v != nil {
			at = r.At(v)
			var err error
			if number, err = strconv.Atoi(v.Value); err != nil || number < 1 {
				number = Format
			}
		}
	})
	return number, at, about
}

// checkFormat is an error for an edition of another format than Format: *OldFormat, or Problems.
func (r *editionReader) checkFormat(draft []authored.File) error {
	switch number, at, _ := r.formatOf(); {
	case number > Format:
		return authored.Problems{{At: at,
			Message:    fmt.Sprintf("the edition is of format %d, which is newer than this program; it reads format %d", number, Format),
			Suggestion: "start the program that it was made with, or a later one"}}
	case number < Format:
		return r.upgrade(number, draft)
	}
	return nil
}
