package server

import "unicode/utf8"

// What limits_gen.go asks of texts.

func lettersAbove(s string, most int) bool { return len(s) > most && utf8.RuneCountInString(s) > most }

func lettersBelow(s string, least int) bool { return utf8.RuneCountInString(s) < least }

// dateShaped is whether a text is written YYYY-MM-DD; whether there is such a day is another question.
func dateShaped(s string) bool {
	if len(s) != 10 {
		return false
	}
	for i := range len(s) {
		if dash := i == 4 || i == 7; dash != (s[i] == '-') || !dash && (s[i] < '0' || s[i] > '9') {
			return false
		}
	}
	return true
}
