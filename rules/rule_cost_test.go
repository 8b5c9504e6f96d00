package rules

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// TestHow: every rule that drills are judged by is listed once, in order, and no part is lost by joining.
func TestHow(t *testing.T) {
	e := embeddedEdition(t)
	list := e.How()
	assert.Len(t, list, len(e.judged))
	parts := map[string]int{}
	for i, h := range list {
		assert.Equal(t, e.judged[i].ID, h.ID)
		assert.NotEqual(t, Refer, h.Effect)
		joined := 0
		for _, p := range h.Parts {
			joined += p.Count
			parts[p.Form] += p.Count
			assert.NotEmpty(t, p.Text, h.ID)
			assert.LessOrEqual(t, p.Least, p.Most, h.ID)
		}
		assert.Equal(t, len(e.program.How(i)), joined, h.ID)
	}
	for _, f := range Forms(list) {
		assert.Equal(t, parts[f.Form], f.Parts, f.Form)
		assert.LessOrEqual(t, f.Distinct, f.Parts, f.Form)
	}
}
