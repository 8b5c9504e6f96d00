package rules

import (
	"testing"
	"time"
)

func TestTry(t *testing.T) {
	e := embeddedEdition(t)
	at := time.Now()
	for _, f := range e.Lint(nil) {
		t.Logf("%v: %s: %s %v %d drills nd=%v", f.At, f.Kind, f.Message, f.Rules, len(f.Drills), f.NotDecided)
	}
	t.Log(time.Since(at))
}
