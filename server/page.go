package server

import (
	"crypto/sha256"
	"encoding/base64"
	"encoding/binary"

	"drillwright/rules/client"
)

// sizes of a page: what 0 stands for, and the most.
type sizes struct{ usual, most int }

// of is the number of items that a caller gets who asks for size of them.
func (s sizes) of(size int32) int {
	if size == 0 {
		return s.usual
	}
	return min(int(size), s.most)
}

var errToken = client.NewInvalid([]client.Violation{{Field: "page_token", Message: "this token belongs to another list or an older edition",
	Suggestion: "start again without one"}})

const boundBytes = 12

// pageOf cuts one page out of a list and makes the token of the next; "" after the last. A token is good only
// for the list it was made for, which bound names: the revision and what was asked of it.
func pageOf[T any](list []T, size int32, allowed sizes, token, bound string) (page []T, next string, err error) {
	from, ok := offset(token, bound)
	if !ok || from > len(list) {
		return nil, "", errToken
	}
	to := min(from+allowed.of(size), len(list))
	if to < len(list) {
		next = tokenAt(to, bound)
	}
	return list[from:to], next, nil
}

func tokenAt(offset int, bound string) string {
	sum := sha256.Sum256([]byte(bound))
	return base64.RawURLEncoding.EncodeToString(binary.AppendUvarint(sum[:boundBytes:boundBytes], uint64(offset)))
}

func offset(token, bound string) (int, bool) {
	if token == "" {
		return 0, true
	}
	data, err := base64.RawURLEncoding.DecodeString(token)
	sum := sha256.Sum256([]byte(bound))
	if err != nil || len(data) <= boundBytes || string(data[:boundBytes]) != string(sum[:boundBytes]) {
		return 0, false
	}
	n, used := binary.Uvarint(data[boundBytes:])
	if used != len(data)-boundBytes || n > 1<<31 {
		return 0, false
	}
	return int(n), true
}
