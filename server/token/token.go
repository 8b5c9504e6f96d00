// Package token is the secrets by which callers of a server are known: what each may do, and until when. Nobody keeps the
// secret but its caller: a token is told once, when it is made, and here stands its SHA-256. It has 256 bits of chance, so
// nothing is gained by a slower digest.
package token

import (
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"
)

// Role is a part of what a caller may do. A token has any number of them; none contains another.
type Role string

// The roles.
const (
	Ask     Role = "ask"     // SelectionService, CatalogService, and reading what is live
	Edit    Role = "edit"    // reading and comparing revisions; checking and previewing drafts
	Publish Role = "publish" // publishing, restoring and withdrawing
	Review  Role = "review"  // what is published with it is reviewed, by whom the token was registered for
)

// Roles are all of them.
var Roles = []Role{Ask, Edit, Publish, Review}

// Digest is the SHA-256 of a secret.
type Digest [sha256.Size]byte

// DigestOf digests a secret.
func DigestOf(secret string) Digest { return sha256.Sum256([]byte(secret)) }

// MarshalText implements encoding.TextMarshaler.
func (d Digest) MarshalText() ([]byte, error) { return hex.AppendEncode(nil, d[:]), nil }

// UnmarshalText implements encoding.TextUnmarshaler. Its error shows nothing of the text.
func (d *Digest) UnmarshalText(text []byte) error {
	if n, err := hex.Decode(d[:], text[:min(len(text), 2*len(d))]); err != nil || n != len(d) || len(text) != 2*len(d) {
		return fmt.Errorf("sha256 must be %d hexadecimal digits", 2*len(d))
	}
	return nil
}

// Token is what is kept of one.
type Token struct {
	// Name stands in the log, and is given once: never again, even after it was revoked.
	Name  string `json:"name"`
	Roles []Role `json:"roles"`
	// Digest of the secret.
	Digest  Digest    `json:"sha256"`
	Created time.Time `json:"created"`
	Expires time.Time `json:"expires"`
	// Revoked is when it was taken back; zero while it wasn't.
	Revoked time.Time `json:"revoked,omitzero"`
	// Reviewer is the registered name of a licensed professional, and Licence the number: of a token with the role review, and
	// of no other.
	Reviewer string `json:"reviewer,omitempty"`
	Licence  string `json:"licence,omitempty"`
}

// Has is whether it has one of some roles.
func (t *Token) Has(any ...Role) bool {
	return slices.ContainsFunc(any, func(r Role) bool { return slices.Contains(t.Roles, r) })
}

// Ended says why it is no longer good ("expired" or "revoked"); "" while it is.
func (t *Token) Ended(now time.Time) string {
	switch {
	case !t.Revoked.IsZero():
		return "revoked"
	case !now.Before(t.Expires):
		return "expired"
	}
	return ""
}

// prefix shows whoever finds a secret in the open what it is.
const prefix = "drillwright_"

// New makes a secret, and has its digest kept with the rest of the token. The error is everything that is wrong with that.
func New(t Token) (secret string, kept Token, err error) {
	var random [32]byte
	rand.Read(random[:]) // never fails
	secret = prefix + base64.RawURLEncoding.EncodeToString(random[:])
	t.Digest = DigestOf(secret)
	return secret, t, t.Check()
}

// WellFormed is whether a text has the form of a secret.
func WellFormed(secret string) bool {
	rest, ok := strings.CutPrefix(secret, prefix)
	return ok && len(rest) == 43 && strings.IndexFunc(rest, func(r rune) bool {
		return !('a' <= r && r <= 'z' || 'A' <= r && r <= 'Z' || '0' <= r && r <= '9' || r == '-' || r == '_')
	}) < 0
}

var name = regexp.MustCompile(`^[a-z0-9][a-z0-9._-]{0,62}$`)

// Invalid is everything that is wrong with a token, or with several.
type Invalid []string

func (e Invalid) Error() string { return strings.Join(e, "; ") }

// Check is an Invalid with everything that is wrong with a token.
func (t *Token) Check() error {
	var wrong Invalid
	is := func(bad bool, format string, args ...any) {
		if bad {
			wrong = append(wrong, fmt.Sprintf(format, args...))
		}
	}
	is(!name.MatchString(t.Name), "the name must be 1 to 63 of a-z, 0-9, '.', '_' and '-', the first a letter or a figure")
	is(len(t.Roles) == 0, "roles are missing: name at least one of %s", inWords(Roles))
	for i, r := range t.Roles {
		is(!slices.Contains(Roles, r), "there is no role %q; roles are %s", short(string(r)), inWords(Roles))
		is(slices.Contains(t.Roles[:i], r), "the role %q stands twice", short(string(r)))
	}
	is(t.Digest == Digest{}, "sha256 is missing")
	is(t.Created.IsZero(), "created is missing")
	is(!t.Expires.After(t.Created), "expires must be later than created")
	if t.Has(Review) {
		is(!registered(t.Reviewer), "the role review wants the reviewer's registered name, in one line of at most %d characters", mostRegistered)
		is(!registered(t.Licence), "the role review wants the number of the reviewer's licence, in one line of at most %d characters",
			mostRegistered)
	} else {
		is(t.Reviewer != "" || t.Licence != "", "a reviewer and a licence belong to a token with the role review")
	}
	if wrong == nil {
		return nil
	}
	return wrong
}

const mostRegistered = 200

func registered(text string) bool {
	return strings.TrimSpace(text) == text && text != "" && utf8.RuneCountInString(text) <= mostRegistered && utf8.ValidString(text) &&
		strings.IndexFunc(text, func(r rune) bool { return !unicode.IsPrint(r) }) < 0
}

func inWords(roles []Role) string {
	words := make([]string, len(roles))
	for i, r := range roles {
		words[i] = string(r)
	}
	return strings.Join(words, ", ")
}

// short is a text that somebody typed, as far as an error shows it.
func short(text string) string { return text[:min(len(text), 30)] }

// Add adds a token to a list.
func Add(list []Token, t Token) ([]Token, error) {
	if slices.ContainsFunc(list, func(had Token) bool { return had.Name == t.Name }) {
		return nil, fmt.Errorf("there is, or was, a token called %q; names are given once: choose another, such as %s-2", t.Name, t.Name)
	}
	return append(list, t), nil
}

// Revoke takes one of a list back.
func Revoke(list []Token, name string, now time.Time) ([]Token, error) {
	i := slices.IndexFunc(list, func(t Token) bool { return t.Name == name })
	switch {
	case i < 0:
		return nil, fmt.Errorf("there is no token called %q; token list shows those that there are", short(name))
	case !list[i].Revoked.IsZero():
		return nil, fmt.Errorf("the token %q was revoked at %s", name, list[i].Revoked.Format(time.RFC3339))
	}
	list = slices.Clone(list)
	list[i].Revoked = now.UTC().Truncate(time.Second)
	return list, nil
}

// CheckList is an Invalid with everything that is wrong with a list, each with what where says of its place.
func CheckList(list []Token, where func(i int) string) error {
	var wrong Invalid
	names, digests := map[string]int{}, map[Digest]int{}
	for i := range list {
		t := &list[i]
		if bad, ok := t.Check().(Invalid); ok {
			for _, w := range bad {
				wrong = append(wrong, where(i)+w)
			}
		}
		if first, ok := names[t.Name]; ok {
			wrong = append(wrong, fmt.Sprintf("%sthe name %q stands in %salready; names are given once", where(i), short(t.Name), where(first)))
		} else if first, ok := digests[t.Digest]; ok {
			wrong = append(wrong, fmt.Sprintf("%sthe sha256 stands in %salready", where(i), where(first)))
		} else {
			names[t.Name], digests[t.Digest] = i, i
		}
	}
	if wrong == nil {
		return nil
	}
	return wrong
}
