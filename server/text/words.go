package text

import (
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	v1 "drillwright/proto/drillwright/v1"
)

// What the enums of the contract are called on paper.
var (
	urgencies = map[v1.Urgency]string{
		v1.Urgency_EMERGENCY:      "EMERGENCY, now",
		v1.Urgency_TODAY:          "TODAY",
		v1.Urgency_SOON:           "SOON, within days",
		v1.Urgency_BEFORE_LOADING: "BEFORE anything is loaded",
	}
	ifYes = map[v1.Urgency]string{
		v1.Urgency_EMERGENCY:      "call for help at once",
		v1.Urgency_TODAY:          "see someone today",
		v1.Urgency_SOON:           "see someone soon, within days",
		v1.Urgency_BEFORE_LOADING: "see someone before anything is loaded",
	}
	verdicts = map[v1.Verdict]string{
		v1.Verdict_OPEN:       "open today",
		v1.Verdict_TEST_FIRST: "needs a test first",
		v1.Verdict_NOT_TODAY:  "not today",
	}
	tiers = map[v1.Tier]string{
		v1.Tier_SAME_LIFT:    "the same lift, changed",
		v1.Tier_NEAR_VARIANT: "a near variant",
		v1.Tier_SAME_PATTERN: "the same pattern, other tool",
		v1.Tier_SAME_MUSCLES: "the same muscles on their own",
		v1.Tier_TREATS:       "for the condition that was named",
		v1.Tier_ELSEWHERE:    "training elsewhere meanwhile",
	}
	keeps = map[v1.Keeps]string{
		v1.Keeps_MOST:   "most",
		v1.Keeps_SOME:   "some",
		v1.Keeps_LITTLE: "little",
	}
)

// sentence begins with a capital and ends with a stop.
func sentence(s string) string {
	s = capital(strings.TrimSpace(s))
	if s == "" || strings.ContainsRune(".?!:", rune(s[len(s)-1])) {
		return s
	}
	return s + "."
}

func capital(s string) string {
	first, size := utf8.DecodeRuneInString(s)
	if size == 0 {
		return s
	}
	return string(unicode.ToUpper(first)) + s[size:]
}

// sentences joins texts that may or may not end with a stop.
func sentences(list ...string) string {
	var out []string
	for _, s := range list {
		if s = sentence(s); s != "" {
			out = append(out, s)
		}
	}
	return strings.Join(out, " ")
}

// readable turns an id of the vocabulary into words.
func readable(id string) string {
	return strings.NewReplacer("_", " ", "-", " ", ".", " ").Replace(id)
}

// position is a side and a region in words: "left shoulder", "low back".
func position(side, region string) string {
	return strings.TrimSpace(sideWord(side) + " " + readable(region))
}

func sideWord(side string) string {
	if side == "BOTH" {
		return "both sides"
	}
	return strings.ToLower(side)
}

// cited adds the source in brackets.
func cited(words, source string) string {
	if source == "" {
		return sentence(words)
	}
	return sentence(words) + " [" + source + "]"
}

func signed(n int32) string {
	if n > 0 {
		return "+" + strconv.Itoa(int(n))
	}
	return strconv.Itoa(int(n))
}

func figure(f float64) string { return strconv.FormatFloat(f, 'f', -1, 64) }

// count is a number with its noun.
func count(n int32, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return strconv.Itoa(int(n)) + " " + noun + "s"
}

// span is "8 to 10", or "8" where both ends are the same.
func span(low, high int32) string {
	if low == high || low == 0 {
		return strconv.Itoa(int(high))
	}
	return strconv.Itoa(int(low)) + " to " + strconv.Itoa(int(high))
}

// minutes is a length of time for people: seconds up to two minutes.
func minutes(seconds int32) string {
	switch {
	case seconds < 120 && seconds != 60:
		return strconv.Itoa(int(seconds)) + " s"
	case seconds%60 == 0:
		return strconv.Itoa(int(seconds/60)) + " min"
	default:
		return strconv.Itoa(int(seconds/60)) + " min " + strconv.Itoa(int(seconds%60)) + " s"
	}
}

// enumerated joins words with commas and an "and".
func enumerated(words []string) string {
	switch len(words) {
	case 0:
		return ""
	case 1:
		return words[0]
	}
	return strings.Join(words[:len(words)-1], ", ") + " and " + words[len(words)-1]
}
