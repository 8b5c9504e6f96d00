package sqlstore

import (
	"cmp"
	"context"
	"database/sql"
	"fmt"
	"slices"
	"strings"
	"time"

	"drillwright/server/token"
)

// Tokens are all tokens that were ever made, by name. The error is a token.Invalid where somebody has written what is none.
func (s *Store) Tokens(ctx context.Context) ([]token.Token, error) {
	list, err := tokens(ctx, s.db)
	if err != nil {
		return nil, fmt.Errorf("read tokens: %w", err)
	}
	return list, nil
}

func tokens(ctx context.Context, from reader) ([]token.Token, error) {
	rows, err := from.QueryContext(ctx, `select name, roles, sha256, created, expires, revoked, reviewer, licence from token`)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var list []token.Token
	for rows.Next() {
		t, err := tokenOf(rows)
		if err != nil {
			return nil, err
		}
		list = append(list, t)
	}
	if err := rows.Err(); err != nil {
		return nil, err
	}
	slices.SortFunc(list, func(a, b token.Token) int { return cmp.Compare(a.Name, b.Name) })
	return list, token.CheckList(list, func(i int) string { return fmt.Sprintf("token %q: ", list[i].Name) })
}

func tokenOf(row *sql.Rows) (t token.Token, err error) {
	var roles, digest, created, expires, revoked string
	if err := row.Scan(&t.Name, &roles, &digest, &created, &expires, &revoked, &t.Reviewer, &t.Licence); err != nil {
		return t, err
	}
	for _, r := range strings.Split(roles, ",") {
		t.Roles = append(t.Roles, token.Role(r))
	}
	if err := t.Digest.UnmarshalText([]byte(digest)); err != nil {
		return t, fmt.Errorf("token %q: %w", t.Name, err)
	}
	for _, d := range []struct {
		column, text string
		at           *time.Time
	}{{"created", created, &t.Created}, {"expires", expires, &t.Expires}, {"revoked", revoked, &t.Revoked}} {
		if d.text == "" && d.column == "revoked" {
			continue
		}
		if *d.at, err = time.Parse(time.RFC3339, d.text); err != nil {
			return t, fmt.Errorf("token %q: %s is no time", t.Name, d.column)
		}
	}
	return t, nil
}

// AddToken keeps a new token. Errors: those of token.Add.
func (s *Store) AddToken(ctx context.Context, t token.Token) error {
	digest, _ := t.Digest.MarshalText()
	words := make([]string, len(t.Roles))
	for i, r := range t.Roles {
		words[i] = string(r)
	}
	return s.write(ctx, func(tx *sql.Tx) error {
		had, err := tokens(ctx, tx)
		if err != nil {
			return err
		}
		if _, err := token.Add(had, t); err != nil {
			return err
		}
		_, err = tx.ExecContext(ctx, `insert into token (name, roles, sha256, created, expires, revoked, reviewer, licence)
			values ($1, $2, $3, $4, $5, '', $6, $7)`, t.Name, strings.Join(words, ","), string(digest), t.Created.UTC().Format(time.RFC3339),
			t.Expires.UTC().Format(time.RFC3339), t.Reviewer, t.Licence)
		return err
	})
}

// RevokeToken takes a token back for good. Errors: those of token.Revoke.
func (s *Store) RevokeToken(ctx context.Context, name string, now time.Time) error {
	return s.write(ctx, func(tx *sql.Tx) error {
		had, err := tokens(ctx, tx)
		if err != nil {
			return err
		}
		if _, err := token.Revoke(had, name, now); err != nil {
			return err
		}
		_, err = tx.ExecContext(ctx, `update token set revoked = $1 where name = $2`, now.UTC().Format(time.RFC3339), name)
		return err
	})
}
