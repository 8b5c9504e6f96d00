package rules

import (
	"bytes"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"drillwright/catalog/authored"
	"drillwright/catalog/authored/authoredtest"
	"drillwright/rules/client"
)

// What a book from anywhere may not do, whatever stands in it: make reading panic or take long, be answered without a
// place, or with a fix that makes no text of it.

const (
	maxFuzzed = 64 << 10
	maxTaken  = 5 * time.Second // far above what the slowest takes, for machines are busy
)

// FuzzBook reads a file as a draft over the embedded edition, and judges a client if it is a book.
func FuzzBook(f *testing.F) {
	if testing.Short() {
		f.Skip("reads an edition many times over")
	}
	for _, file := range EmbeddedFiles() {
		if len(file.Data) < maxFuzzed/4 {
			f.Add(file.Data)
		}
		if strings.HasSuffix(file.Name, "ladders.yaml") { // a rung that other files name
			f.Add(bytes.ReplaceAll(file.Data, []byte("unrestricted"), []byte("unrestrictet")))
		}
	}
	for _, file := range authoredtest.Drafts(f, "../testdata/bad") {
		f.Add(file.Data)
	}
	e := embeddedEdition(f)
	facts := client.Derive(e.Frame, &client.Request{Profile: &client.Profile{}, AsOf: client.Day(20000)})
	f.Fuzz(func(t *testing.T, data []byte) {
		if len(data) > maxFuzzed {
			return
		}
		begun := time.Now()
		draft := []authored.File{{Name: "draft.yaml", Data: data}}
		edition, err := e.Redraft(draft)
		if err != nil {
			authoredtest.Held(t, err, draft[0])
		} else if edition.Frame == e.Frame {
			j := edition.Judge(facts, nil)
			for _, d := range edition.Catalogue.Drills {
				for side := range 2 {
					j.Verdict(d, side)
				}
			}
			j.Done()
		}
		require.Less(t, time.Since(begun), maxTaken)
	})
}
