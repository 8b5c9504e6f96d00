package text

import (
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	pb "drillwright/proto/drillwright/v1"
)

// What the enums of the contract are called on paper.
var (
	urgencies = map[pb.Urgency]string{
		pb.Urgency_EMERGENCY:      "EMERGENCY, NOW",
		pb.Urgency_TODAY:          "TODAY",
		pb.Urgency_SOON:           "SOON, WITHIN DAYS",
		pb.Urgency_BEFORE_LOADING: "BEFORE ANY LOADING",
	}
	verdicts = map[pb.Verdict]string{
		pb.Verdict_OPEN:       "open today",
		pb.Verdict_TEST_FIRST: "needs a test first",
		pb.Verdict_NOT_TODAY:  "not today",
	}
	tiers = map[pb.Tier]string{
		pb.Tier_SAME_LIFT:    "the same lift, changed",
		pb.Tier_NEAR_VARIANT: "a near variant",
		pb.Tier_SAME_PATTERN: "the same pattern, other tool",
		pb.Tier_SAME_MUSCLES: "the same muscles on their own",
		pb.Tier_ELSEWHERE:    "training elsewhere meanwhile",
	}
	keeps = map[pb.Keeps]string{
		pb.Keeps_MOST:   "most",
		pb.Keeps_SOME:   "some",
		pb.Keeps_LITTLE: "little",
	}
)

// sentence begins with a capital and ends with a stop.
func sentence(s string) string {
	s = strings.TrimSpace(s)
	if s == "" {
		return ""
	}
	first, size := utf8.DecodeRuneInString(s)
	s = string(unicode.ToUpper(first)) + s[size:]
	if strings.ContainsRune(".?!:", rune(s[len(s)-1])) {
		return s
	}
	return s + "."
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

// plain turns an id of the vocabulary into words.
func plain(id string) string {
	return strings.NewReplacer("_", " ", "-", " ", ".", " ").Replace(id)
}

// place is a side and a region in words: "left shoulder", "low back".
func place(side, region string) string {
	return strings.TrimSpace(sideWord(side) + " " + plain(region))
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

// minutes is a length of time for people.
func minutes(seconds int32) string {
	switch {
	case seconds < 60:
		return strconv.Itoa(int(seconds)) + " s"
	case seconds%60 == 0:
		return strconv.Itoa(int(seconds/60)) + " min"
	default:
		return strconv.Itoa(int(seconds/60)) + " min " + strconv.Itoa(int(seconds%60)) + " s"
	}
}

// list joins words with commas and an "and".
func list(words []string) string {
	switch len(words) {
	case 0:
		return ""
	case 1:
		return words[0]
	}
	return strings.Join(words[:len(words)-1], ", ") + " and " + words[len(words)-1]
}
