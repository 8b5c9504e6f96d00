package text

import (
	"fmt"
	"time"

	v1 "drillwright/proto/drillwright/v1"
)

// Published says what is live after a publication, or that all checks passed.
func (p *Page) Published(r *v1.Revision, onlyChecked bool) {
	if onlyChecked {
		p.title("Every check passed; nothing was published.")
		p.field(2, "revision", r.GetRevision())
		p.field(2, "over", r.GetBaseRevision())
		return
	}
	p.title("Published; it is live.")
	p.revision(r)
}

// Withdrawn says what was taken back, and what is live now.
func (p *Page) Withdrawn(r *v1.WithdrawRevisionResponse) {
	p.title("Withdrawn: it is never served, pinned or restored again.")
	p.revision(r.GetWithdrawn())
	p.section("Live now")
	p.revision(r.GetLive())
}

// History lists publications, the latest first.
func (p *Page) History(list []*v1.Revision) {
	for i, r := range list {
		if i > 0 {
			p.out.WriteByte('\n')
		}
		head := fmt.Sprintf("%d", r.GetNumber())
		if r.GetLive() {
			head += ", live"
		}
		p.title(head)
		p.revision(r)
	}
}

// Since says since when an answer stands.
func (p *Page) Since(r *v1.FindSinceResponse) {
	p.title("The answer of today has stood since:")
	p.revision(r.GetSince())
	switch d := r.GetDifference(); {
	case r.GetEndedAt() != "":
		p.section("It may be older: the search ended")
		p.line(2, r.GetEndedAt())
	case r.GetBefore() == nil:
		p.section("Nothing before it was published.")
	default:
		p.section("Before it, this one answered otherwise")
		p.revision(r.GetBefore())
		p.field(2, "first differs", d.GetField())
		p.field(2, "then", either(d.GetBefore(), "nothing"))
		p.field(2, "now", either(d.GetAfter(), "nothing"))
	}
}

func either(text, otherwise string) string {
	if text == "" {
		return otherwise
	}
	return text
}

func (p *Page) revision(r *v1.Revision) {
	p.field(2, "revision", r.GetRevision())
	p.field(2, "over", r.GetBaseRevision())
	if n := r.GetRestoredFrom(); n > 0 {
		p.field(2, "restores", fmt.Sprintf("publication %d", n))
	}
	if n := r.GetUpgradedFromFormat(); n > 0 {
		p.field(2, "upgraded", fmt.Sprintf("from format %d", n))
	}
	p.field(2, "published", r.GetPublishedAt().AsTime().Format(time.RFC3339))
	p.field(2, "by", r.GetAuthor())
	p.field(2, "note", r.GetNote())
	p.field(2, "reviewed by", either(r.GetReviewedBy(), "nobody"))
	if w := r.GetWithdrawn(); w != nil {
		p.field(2, "withdrawn", w.GetWithdrawnAt().AsTime().Format(time.RFC3339)+" by "+w.GetAuthor()+": "+w.GetNote())
	}
	p.field(2, "unreadable", r.GetUnreadable())
}
