package authored

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"
)

// Nearest returns the candidate with the least edit distance to word, or "" when none is near
// (more than a third of the word, at least 2 but not all of it). Ties go to the first in order.
func Nearest(word string, candidates []string) string {
	if len(word) > longestWord {
		return ""
	}
	word = strings.ToLower(word)
	best, bestDistance := "", min(max(2, len(word)/3), max(1, len(word)-1))+1
	for _, c := range candidates {
		if d := distance(word, strings.ToLower(c), bestDistance); d < bestDistance {
			best, bestDistance = c, d
		}
	}
	return best
}

// longestWord is how long a word may be for anything to be near it: no id is as long.
const longestWord = 200

// Misspelt is the known word that must be meant by a word: the same but for capitals, - and _, or one letter off with
// no other at less than three. "" when there is none.
func Misspelt(word string, known []string) string {
	var same, near []string
	for _, k := range known {
		if joined(word) == joined(k) {
			same = append(same, k)
		}
		if d := distance(strings.ToLower(word), strings.ToLower(k), 3); d < 3 {
			near = append(near, k)
		}
	}
	switch {
	case len(same) == 1:
		return same[0]
	case len(near) == 1 && len(word) > 3 && distance(strings.ToLower(word), strings.ToLower(near[0]), 3) == 1:
		return near[0]
	}
	return ""
}

var joiners = strings.NewReplacer("-", "", "_", "", " ", "")

func joined(word string) string { return joiners.Replace(strings.ToLower(word)) }

// NearestFew returns up to n candidates in order of likeness, those that share the word's parts first. A short form is like
// the words that begin as it does: lats, latissimus_dorsi.
func NearestFew(word string, candidates []string, n int) []string {
	type scored struct {
		id    string
		score int
	}
	if len(word) > longestWord {
		return nil
	}
	word = strings.ToLower(word)
	parts := strings.FieldsFunc(word, func(r rune) bool { return r == '-' || r == '_' || r == ' ' || r == '.' })
	if len(parts) > mostParts {
		return nil
	}
	var found []scored
	limit := max(2, len(word)/3) + 1 // beyond it nothing is near
	for _, c := range candidates {
		d, shared := distance(word, strings.ToLower(c), limit), 0
		for i, p := range parts {
			if d >= limit && (shared+len(parts)-i)*2 < len(parts) {
				break // it can't share half of them any more
			}
			if len(p) > 2 && strings.Contains(c, p) {
				shared++
			}
		}
		if shared == 0 && shortFor(word, c) {
			shared = 1
		}
		alike := shared*2 >= len(parts) && shared > 0
		if d >= limit && alike {
			d = distance(word, strings.ToLower(c), len(word)+len(c))
		}
		if d < limit || alike {
			found = append(found, scored{c, d - 6*shared})
		}
	}
	slices.SortStableFunc(found, func(a, b scored) int {
		return cmp.Or(cmp.Compare(a.score, b.score), cmp.Compare(a.id, b.id))
	})
	var ids []string
	for _, f := range found[:min(n, len(found))] {
		ids = append(ids, f.id)
	}
	return ids
}

// mostParts is how many parts an id may have at most: a word of more is like none.
const mostParts = 16

// shortFor is whether a word begins as a longer one does, but for its last one or two letters.
func shortFor(word, long string) bool {
	return len(word) > 3 && len(word) < len(long) && strings.HasPrefix(long, word[:max(3, len(word)-2)])
}

// distance is the edit distance with neighbouring swaps counted once, of lower-case texts; or any number from limit on, when it
// isn't below. Most pairs are far apart by their lengths alone.
func distance(a, b string, limit int) int {
	if len(a) > len(b) {
		a, b = b, a
	}
	short, long := utf8.RuneCountInString(a), utf8.RuneCountInString(b)
	switch {
	case long-short >= limit:
		return limit
	case short == len(a) && short <= 64 && short > 0:
		return distanceBits(a, b)
	}
	return distanceTable([]rune(a), []rune(b))
}

// distanceBits is the distance of an ASCII text of up to 64 letters from another, a column of the table at a time: bit i of
// a word is about the first i+1 letters of the short text, and a column differs from the one before by one up or down (Hyyrö
// 2003, from memory; a test holds it against the table).
func distanceBits(short, long string) int {
	var at [utf8.RuneSelf]uint64 // where each letter stands in the short text
	for i := range len(short) {
		at[short[i]] |= 1 << i
	}
	up, down, diagonal, before := ^uint64(0), uint64(0), uint64(0), uint64(0)
	d, last := len(short), uint64(1)<<(len(short)-1)
	for _, r := range long {
		var here uint64
		if r < utf8.RuneSelf {
			here = at[r]
		}
		swapped := (^diagonal & here) << 1 & before
		diagonal = ((here&up + up) ^ up) | here | down | swapped
		right, left := down|^(diagonal|up), diagonal&up
		if right&last != 0 {
			d++
		}
		if left&last != 0 {
			d--
		}
		right = right<<1 | 1
		up, down = left<<1|^(diagonal|right), right&diagonal
		before = here
	}
	return d
}

// distanceTable is the distance by the whole table.
func distanceTable(ra, rb []rune) int {
	before, last, row := make([]int, len(rb)+1), make([]int, len(rb)+1), make([]int, len(rb)+1)
	for j := range last {
		last[j] = j
	}
	for i := 1; i <= len(ra); i++ {
		row[0] = i
		for j := 1; j <= len(rb); j++ {
			cost := 1
			if ra[i-1] == rb[j-1] {
				cost = 0
			}
			row[j] = min(last[j]+1, row[j-1]+1, last[j-1]+cost)
			if i > 1 && j > 1 && ra[i-1] == rb[j-2] && ra[i-2] == rb[j-1] {
				row[j] = min(row[j], before[j-2]+1)
			}
		}
		before, last, row = last, row, before
	}
	return last[len(rb)]
}

// DidYouMean names the nearest known word; or all when they are few, those that are like it when some are.
func DidYouMean(word string, known []string) string {
	if near := Nearest(word, known); near != "" {
		return fmt.Sprintf("did you mean %q?", near)
	}
	if len(known) > 0 && len(known) <= 20 {
		return "known: " + strings.Join(known, ", ")
	}
	switch like := NearestFew(word, known, 5); {
	case len(word) < 3 || len(like) == 0:
		return ""
	case len(like) == 1:
		return "like it is " + like[0]
	default:
		return "like it are " + strings.Join(like, ", ")
	}
}
