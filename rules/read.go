package rules

import (
	"bytes"
	"slices"

	"go.yaml.in/yaml/v3"

	"drillwright/catalog"
	"drillwright/catalog/authored"
	"drillwright/rules/client"
	"drillwright/rules/language"
)

// Read compiles an edition. The error is authored.Problems: every mistake of every file; it is *OldFormat for an edition of before
// the format that is read now.
func Read(files []authored.File) (*Edition, error) { return ReadDraft(files, nil) }

// ReadPublished compiles a whole edition as a server has published it, who has reviewed it included. What only its author is asked, of
// words and sources that nothing uses and of cases, was asked of each draft when it was published, over the base that it had then.
func ReadPublished(files []authored.File) (*Edition, error) {
	return newEditionReader(nil, files).published(files)
}

// ReadDraft compiles a draft; kinds of file that it lacks come from the base. A term of the base that only the
// replaced files used is no mistake of the draft's author.
func ReadDraft(draft, base []authored.File) (*Edition, error) {
	r := newEditionReader(nil, draft)
	r.noReview()
	r.complete(r.base(base))
	return r.edition(draft)
}

// ReadOn compiles a draft over a catalogue that is already there: the words and drills of the files are passed over,
// and a word that nothing uses is no mistake.
func ReadOn(snap *catalog.Snapshot, draft, base []authored.File) (*Edition, error) {
	r := newEditionReader(nil, draft)
	r.given = snap
	r.noReview()
	r.complete(r.base(base))
	return r.edition(draft)
}

// Redraft compiles a draft over this edition: it is ReadDraft with the edition's own files as the base or, over a
// catalogue that was given, ReadOn. What the draft leaves as it was is not read and compiled again.
func (e *Edition) Redraft(draft []authored.File) (*Edition, error) {
	return e.RedraftReviewed(draft, nil)
}

// RedraftReviewed is Redraft of a draft that somebody has reviewed, whose word the caller has; nil: nobody. A review of this edition
// was of another text, and doesn't go over to the draft.
func (e *Edition) RedraftReviewed(draft []authored.File, by *Review) (*Edition, error) {
	r := newEditionReader(e, draft)
	r.noReview()
	if e.given {
		r.given = e.Catalogue
	}
	r.complete(e.files)
	if by != nil {
		r.docs = append(r.docs, r.parsed(by.file()))
	}
	return r.edition(draft)
}

// Reread is ReadPublished: nothing that the edition lacks comes from this one. What is the same in both is not read and
// compiled again.
func (e *Edition) Reread(files []authored.File) (*Edition, error) {
	return newEditionReader(e, files).published(files)
}

// published is edition of files that are nobody's draft.
func (r *editionReader) published(files []authored.File) (*Edition, error) {
	if err := r.checkFormat(files); err != nil {
		return nil, err
	}
	return r.read(nil)
}

// edition reads all files, if they are of the format that is read now. The error is *OldFormat or authored.Problems.
func (r *editionReader) edition(draft []authored.File) (*Edition, error) {
	if err := r.checkFormat(draft); err != nil {
		return nil, err
	}
	return r.read(draft)
}

// read reads all files and, unless there is a mistake, compiles them.
func (r *editionReader) read(draft []authored.File) (*Edition, error) {
	e := &Edition{Revision: digest(r.docs), given: r.given != nil, files: withoutNodes(r.docs)}
	if e.Catalogue = r.catalogue(); e.Catalogue == nil {
		return nil, r.Err() // rules that name words of a broken vocabulary would only repeat its mistakes
	}
	before := r.Doubtful()
	if e.Frame = r.frame(e.Catalogue); r.Doubtful() > before {
		return nil, r.Err()
	}
	if r.before != nil && e.Frame == r.before.Frame {
		e.tags = r.before.tags
		e.Book, e.texts = readBook(r.Decoder, e.Catalogue, e.Frame, e.tags, r.before.texts, r.tops(ofBook))
	} else {
		e.tags = language.NewTags(e.Catalogue.Vocabulary, e.Frame.Ladder)
		e.Book, e.texts = readBook(r.Decoder, e.Catalogue, e.Frame, e.tags, language.Texts{}, r.tops(ofBook))
		e.checkRungs(r.Report)
	}
	e.checkFloor(r.Report)
	if err := r.Err(); err != nil {
		return nil, err
	}
	if !e.given {
		e.checkUse(r.Report, draft) // only now: a rule that couldn't be read uses nothing
	}
	r.checkSourcesUsed(e, draft)
	r.checkShares(e, draft)
	r.checkCases(e, draft)
	if err := r.Err(); err != nil {
		return nil, err
	}
	defer r.Forget()
	if r.keepsCatalogue(e.Catalogue) && r.keeps("ladders") {
		return e.compile(r.before), nil
	}
	return e.compile(nil), nil
}

// catalogue is nil where the vocabulary can't be told. Mistakes of drills don't stand in the way of rules.
func (r *editionReader) catalogue() *catalog.Snapshot {
	switch {
	case r.given != nil:
		return r.given
	case r.unreadable(slices.Concat(ofCatalogue, ofFrame)):
		return nil
	case r.before != nil && r.keeps(ofCatalogue...):
		return r.before.Catalogue
	}
	tops, before := r.tops(ofCatalogue), r.Doubtful()
	vocabulary := catalog.ReadVocabulary(r.Decoder, tops)
	if r.Doubtful() > before {
		return nil
	}
	before = r.Count()
	snap := catalog.ReadDrills(r.Decoder, vocabulary, tops)
	if len(snap.Drills) == 0 && r.Count() == before {
		at := authored.Pos{}
		each(tops, []string{"blocks", "drills"}, func(_ string, n *yaml.Node) { at = r.At(n) })
		r.Suggest(at, "write one, or take the file away: the drills are then those built in", "the catalogue has no drills")
	}
	if r.Count() > before { // there will be no edition; what can be read of it is there for the rules to be held against
		return catalog.NewSnapshot(vocabulary, slices.DeleteFunc(snap.Drills, func(d *catalog.Drill) bool {
			return d.Pattern == nil ||
				d.Tool == nil
		}))
	}
	return snap
}

// unreadable is whether a file that can't be parsed looks as if it held something of these kinds.
func (r *editionReader) unreadable(kinds []string) bool {
	return slices.ContainsFunc(r.docs, func(d document) bool {
		return d.top == nil && d.keys == nil && slices.ContainsFunc(kinds, func(kind string) bool {
			return bytes.HasPrefix(d.Data, []byte(kind+":")) || bytes.Contains(d.Data, []byte("\n"+kind+":"))
		})
	})
}

// frame is what the edition before read, if nothing of it has changed. Its numbered paths are those of its catalogue.
func (r *editionReader) frame(snap *catalog.Snapshot) *client.Frame {
	if r.keepsCatalogue(snap) && r.keeps(ofFrame...) {
		return r.before.Frame
	}
	return readFrame(r.Decoder, snap, r.tops(ofFrame))
}

func (r *editionReader) keepsCatalogue(snap *catalog.Snapshot) bool {
	return r.before != nil && snap == r.before.Catalogue
}

// checkRungs holds every rung of a drill against the ladder of its region.
func (e *Edition) checkRungs(r *authored.Report) {
	for _, d := range e.Catalogue.Drills {
		for _, row := range d.Rows {
			for _, load := range row.Regions {
				ladder := e.Frame.Ladder(load.Region)
				if ladder != nil && load.Rung != "" && ladder.Index(load.Rung) < 0 {
					r.Suggest(d.At, authored.DidYouMean(load.Rung, ladder.Rungs), "drill %q: %q is no rung of %s", d.ID, load.Rung, load.Region)
				}
			}
		}
	}
}
