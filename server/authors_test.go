package server

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"
	"google.golang.org/grpc"

	v1 "drillwright/proto/drillwright/v1"
)

// TestAuthorsWorkOneAtATime: a second draft waits, a question doesn't, and whoever leaves while waiting gets the context's error.
func TestAuthorsWorkOneAtATime(t *testing.T) {
	s, err := New(Config{Edition: embedded()})
	require.NoError(t, err)
	call := func(ctx context.Context, method string, do func()) error {
		_, err := s.yield(ctx, nil, &grpc.UnaryServerInfo{FullMethod: method}, func(context.Context, any) (any, error) {
			do()
			return nil, nil
		})
		return err
	}
	never := func() { require.Fail(t, "it didn't wait") }
	for method := range authorsWork {
		require.NoError(t, call(t.Context(), method, func() {
			gone, cancel := context.WithCancel(t.Context())
			cancel()
			require.ErrorIs(t, call(gone, v1.RulebookService_CheckRulebook_FullMethodName, never), context.Canceled)
			asked := false
			require.NoError(t, call(gone, v1.SelectionService_Substitute_FullMethodName, func() { asked = true }))
			require.True(t, asked)
		}), method)
	}
}
