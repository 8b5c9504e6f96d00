package rules

import (
	"fmt"
	"slices"

	"go.yaml.in/yaml/v3"

	"drillwright/catalog/authored"
)

// ReviewFile is the name of the file that says who has reviewed an edition. A server writes it when it publishes, and nobody
// else: what an author types can't say that somebody with a licence has read it.
const ReviewFile = "review.yaml"

// Review is who answers for an edition, as it was registered where the server runs.
type Review struct {
	By      string `yaml:"by" need:"yes" doc:"The licensed professional who has reviewed the edition."`
	Licence string `yaml:"licence" need:"yes" doc:"The number of the licence."`
}

func (r *Review) file() authored.File {
	return authored.File{Name: ReviewFile, Data: fmt.Appendf(nil, "review:\n  by: %q\n  licence: %q\n", r.By, r.Licence)}
}

// ReviewedBy names the reviewer, with the licence; "" while nobody has reviewed the book.
func (b *Book) ReviewedBy() string {
	if b.Review == nil {
		return ""
	}
	return fmt.Sprintf("%s (licence %s)", b.Review.By, b.Review.Licence)
}

const toReview = "publish with a token of the role review: the server then writes the reviewer's name and licence into the edition"

// noReview takes who has reviewed it out of a draft, and reports it.
func (r *editionReader) noReview() {
	for _, top := range r.tops([]string{"review"}) {
		if key := without(top, "review"); key != nil {
			r.Suggest(r.At(key), "leave it out of the draft; "+toReview, "review: is written by a server alone")
		}
	}
}

// noReviewer takes a typed reviewer out of about:, and reports it.
func (b *bookReader) noReviewer(about *yaml.Node) {
	if key := without(about, "reviewed_by"); key != nil {
		b.Suggest(b.At(key), "take it out; "+toReview, "reviewed_by: says nothing when it is typed")
	}
}

// without takes a key and its value out of a mapping; it is nil where there is none.
func without(mapping *yaml.Node, key string) *yaml.Node {
	for i := 0; i+1 < len(mapping.Content); i += 2 {
		if k := mapping.Content[i]; k.Value == key {
			mapping.Content = slices.Delete(mapping.Content, i, i+2)
			return k
		}
	}
	return nil
}

// withoutReview are the files of a published edition but for who has reviewed it, which says nothing of what they become.
func withoutReview(files []authored.File) []authored.File {
	return slices.DeleteFunc(slices.Clone(files), func(f authored.File) bool { return f.Name == ReviewFile })
}
