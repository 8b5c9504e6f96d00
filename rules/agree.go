package rules

import (
	"fmt"

	"drillwright/rules/client"
)

// Disagreement holds the compiled book against the reference (see Plainly) for one client, on the verdict and the points of
// every drill and side. It is nil when they agree; any other answer is a fault of the program's.
func (e *Edition) Disagreement(plain *Edition, f *client.Facts) error {
	fast, slow := e.Judge(f, nil), plain.Judge(f, nil)
	defer fast.Done()
	defer slow.Done()
	for _, d := range e.Catalogue.Drills {
		for side := range 2 {
			is, want := fast.Verdict(d, side), slow.Verdict(d, side)
			if is != want {
				return fmt.Errorf("%s on the %s: judged %s, by the reference %s", d.ID, client.Sides[side], is, want)
			}
			if points, wanted := fast.Favours(d, side), slow.Favours(d, side); want != NotToday && points != wanted {
				return fmt.Errorf("%s on the %s: %d points, by the reference %d", d.ID, client.Sides[side], points, wanted)
			}
		}
	}
	return nil
}
