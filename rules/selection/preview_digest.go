package selection

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"hash"
	"slices"

	"drillwright/rules"
)

// digest is SHA-256, its first half in hex, over our own canonical form of what was previewed and what came out: both
// revisions and the engine, the samples in order of name, every change and every new drill. Texts and lists begin with their length.
func (p *Previewed) digest(samples []Sample) string {
	c := canonical{sha256.New()}
	c.texts([]string{p.BaseRevision, p.DraftRevision, rules.EngineVersion})
	c.count(len(samples))
	for _, s := range samples {
		c.texts([]string{s.Name, s.Request.Digest()})
	}
	c.count(len(p.Changes))
	for i := range p.Changes {
		c.answer(&p.Changes[i])
	}
	c.count(len(p.NewDrills))
	for _, n := range p.NewDrills {
		c.texts([]string{n.Drill, fmt.Sprint(n.Open, n.TestFirst, n.NotToday, n.Picked)})
	}
	return hex.EncodeToString(c.Sum(nil)[:16])
}

type canonical struct{ hash.Hash }

func (c canonical) count(n int) { fmt.Fprintf(c, "%d\n", n) }

func (c canonical) texts(list []string) {
	c.count(len(list))
	for _, s := range list {
		fmt.Fprintf(c, "%d %s\n", len(s), s)
	}
}

func (c canonical) answer(a *AnswerChange) {
	c.texts([]string{a.Client, a.Question, a.Fault, fmt.Sprint(a.LosesFirstPick)})
	if s := a.Screening; s != nil {
		c.texts([]string{"screening", s.Before, s.After, fmt.Sprint(s.NoDrillsBefore, s.NoDrillsAfter)})
		c.texts(s.Rules)
	}
	if f := a.FirstPick; f != nil {
		c.texts([]string{"first pick"})
		c.texts(f.Before)
		c.texts(f.After)
		c.texts(f.Rules)
	}
	c.count(len(a.Verdicts))
	for _, v := range a.Verdicts {
		c.texts(slices.Concat([]string{v.Drill, v.Side, string(v.Before), string(v.After)}, v.Rules))
	}
}
