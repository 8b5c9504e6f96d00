package client_test

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"drillwright/rules/client"
)

// A day is read exactly as the standard library reads one.
func TestParseDay(t *testing.T) {
	agree := func(t require.TestingT, text string) {
		want, refused := time.Parse(time.DateOnly, text)
		got, err := client.ParseDay(text)
		require.Equal(t, refused != nil, err != nil, "%q", text)
		if err == nil {
			require.Equal(t, client.Day(want.Unix()/86400), got, "%q", text)
		} else {
			require.EqualError(t, err, fmt.Sprintf("read day %q: it must be YYYY-MM-DD", text))
		}
	}
	for _, text := range []string{"", "2026-11-24", "2024-02-29", "2023-02-29", "1900-02-29", "2000-02-29", "2026-02-30", "2026-04-31",
		"2026-00-01",
		"2026-13-01", "2026-01-00", "2026-01-32", "0000-01-01", "0000-02-29", "9999-12-31", "1969-12-31", "1970-01-01", "-001-01-01",
		"abcd-01-01",
		"+026-01-01", "2026-+1-01", "2026-01--1", "2026/01/01", "2026-1-01", "2026-01-1", "2026-01- 1", "2026-01-01 ", "2026-01-01T",
		"２026-01-01"} {
		agree(t, text)
	}
	rapid.Check(t, func(t *rapid.T) {
		agree(t, rapid.OneOf(rapid.StringMatching(`[0-9]{4}-[0-9]{2}-[0-9]{2}`), rapid.StringMatching(`[0-9]{4}-[01][0-9]-[0-3][0-9]`),
			rapid.StringMatching(`[-+ 0-9a]{4}-[-+ 0-9]{1,2}-[-+ 0-9]{1,3}`), rapid.String()).Draw(t, "text"))
	})
}
