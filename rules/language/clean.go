package language

import (
	"slices"
	"strings"
)

// usual are the words that stand in conditions and texts without a point before them.
var usual = func() map[string]bool {
	words := map[string]bool{}
	for _, w := range slices.Concat(AllRoots, domains, []string{"and", "or", "not", "in", "any", "all", "count", "measured", "true", "false",
		"motion", "region", "stressor"}) {
		words[w] = true
	}
	return words
}()

// clean is true of an expression in which no typo can be: most of them, so that the many patterns need not be looked for.
// It may be false of one that has none. blanked is the expression with its quotes emptied.
func clean(blanked string) bool {
	for i := 0; i < len(blanked); {
		next := step(blanked, i)
		if next == i {
			return false
		}
		i = next
	}
	return true
}

// step is behind the word, number or sign that begins at a place; the place itself where that may be a typo.
func step(s string, i int) int {
	at := func(j int) byte {
		if j < 0 || j >= len(s) {
			return ' '
		}
		return s[j]
	}
	switch c := s[i]; {
	case isLetter(c):
		end := i
		for isLetter(at(end)) || isDigit(at(end)) {
			end++
		}
		quote := strings.TrimLeft(s[end:], " \t\n")
		if at(i-1) != '.' && !usual[s[i:end]] || s[i:end] == "not" && strings.HasPrefix(quote, "'") {
			return i
		}
		return end
	case isDigit(c):
		end := i
		for isDigit(at(end)) || at(end) == '.' {
			end++
		}
		if isLetter(at(end)) || end-i > 9 || !plain.MatchString(s[i:end]) || at(end) == ',' && isDigit(at(end+1)) {
			return i
		}
		return end
	case c == '\'':
		if end := strings.IndexByte(s[i+1:], '\''); end >= 0 {
			return i + end + 2
		}
		return i
	case c == '.':
		if isLetter(at(i+1)) && (isLetter(at(i-1)) || isDigit(at(i-1)) || at(i-1) == ']') {
			return i + 1
		}
		return i
	case c == '[' && (at(i+1) == ' ' || at(i+1) == '#' && at(i+2) != ']'), c == '*' && at(i+1) == '*', c == '/' &&
		(at(i+1) == '/' || at(i+1) == '*'):
		return i
	case c == '?':
		if rest := strings.TrimLeft(s[i+1:], " \t\n"); rest == "" || strings.ContainsRune(":.?", rune(rest[0])) {
			return i
		}
		return i + 1
	case strings.IndexByte("=!<>&|", c) >= 0:
		end := i
		for strings.IndexByte("=!<>&|", at(end)) >= 0 {
			end++
		}
		if slices.Contains([]string{"==", "!=", "<", "<=", ">", ">=", "&&", "||", "!"}, s[i:end]) {
			return end
		}
		return i
	case strings.IndexByte(" \n()[]#,+-*/:", c) >= 0:
		return i + 1
	}
	return i
}

func isLetter(c byte) bool { return 'a' <= c && c <= 'z' || 'A' <= c && c <= 'Z' || c == '_' }

func isDigit(c byte) bool { return '0' <= c && c <= '9' }
