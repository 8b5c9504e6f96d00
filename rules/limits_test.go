package rules

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"

	"drillwright/catalog/authored"
	"drillwright/catalog/authored/authoredtest"
	"drillwright/rules/language"
)

// TestLimitsOfABook: what comes after the most that a book may hold is not read, and the reader says so once.
func TestLimitsOfABook(t *testing.T) {
	e := embeddedEdition(t)
	b := newBookReader(authored.NewDecoder(), e.Frame, e.tags, language.Texts{})
	assert.False(t, b.full(authored.Pos{}, maxRules-1, maxRules, "rules"))
	assert.True(t, b.full(authored.Pos{}, maxRules, maxRules, "rules"))
	assert.ErrorContains(t, b.Err(), "a book has at most 10000 rules")
}

// TestNoDraftHoldsReadingUp mutates the bad files: cut, doubled, swapped. None may make reading panic.
func TestNoDraftHoldsReadingUp(t *testing.T) {
	if testing.Short() {
		t.Skip("reads an edition many times over")
	}
	e := embeddedEdition(t)
	dice := rand.New(rand.NewPCG(7, 412))
	for _, f := range authoredtest.Drafts(t, "../testdata/bad") {
		for i := range 8 {
			r := newEditionReader(nil, []authored.File{{Name: f.Name, Data: authoredtest.Mutated(dice, f.Data, i)}})
			r.floor = nil
			readBook(r.Decoder, e.Catalogue, e.Frame, e.tags, language.Texts{}, r.tops(ofBook))
		}
	}
}
