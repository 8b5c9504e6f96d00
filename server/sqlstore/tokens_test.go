package sqlstore

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"drillwright/server/token"
)

func TestTokens(t *testing.T) {
	onEach(t, func(t *testing.T, empty func() string) {
		s, ctx := opened(t, empty()), within(t)
		list, err := s.Tokens(ctx)
		require.NoError(t, err)
		require.Empty(t, list)
		at := time.Date(2026, 11, 24, 8, 0, 0, 0, time.UTC)
		var want []token.Token
		for _, one := range []token.Token{
			{Name: "coach", Roles: []token.Role{token.Edit, token.Publish}},
			{Name: "dr-sculler", Roles: []token.Role{token.Review}, Reviewer: "Dr A. Sculler, “physician”", Licence: "RC-0413"},
			{Name: "gym", Roles: []token.Role{token.Ask}},
		} {
			one.Created, one.Expires = at, at.Add(time.Hour)
			_, kept, err := token.New(one)
			require.NoError(t, err)
			want = append(want, kept)
			require.NoError(t, s.AddToken(ctx, kept))
			require.ErrorContains(t, s.AddToken(ctx, kept), "names are given once")
		}
		list, err = s.Tokens(ctx)
		require.NoError(t, err)
		require.Equal(t, want, list)

		require.NoError(t, s.RevokeToken(ctx, "gym", at.Add(time.Minute)))
		want[2].Revoked = at.Add(time.Minute)
		list, err = s.Tokens(ctx)
		require.NoError(t, err)
		require.Equal(t, want, list)
		require.ErrorContains(t, s.RevokeToken(ctx, "gym", at), "was revoked at 2026-11-24T08:01:00Z")
		require.ErrorContains(t, s.RevokeToken(ctx, "gym-2", at), "no token called")
		require.ErrorContains(t, s.AddToken(ctx, want[2]), "names are given once")

		_, err = s.db.Exec(`update token set roles = 'root' where name = 'coach'`)
		require.NoError(t, err)
		_, err = s.Tokens(ctx)
		require.ErrorContains(t, err, `token "coach": there is no role "root"`)
	})
}
