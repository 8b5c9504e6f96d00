package server_test

import (
	"bytes"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/proto"

	v1 "drillwright/proto/drillwright/v1"
	"drillwright/server"
)

// TestManyAtOnce: callers at the same time get the answer that each would get alone.
func TestManyAtOnce(t *testing.T) {
	service, c, ctx := v1.NewSelectionServiceClient(boot(t, server.Config{Edition: edition})), shoulder(t), within(t)
	ask := func() ([]byte, error) {
		a, err := service.Explain(ctx, &v1.ExplainRequest{Profile: c.Profile, Complaints: c.Complaints, AsOf: c.AsOf, Drill: "push-press"})
		if err != nil {
			return nil, err
		}
		return proto.MarshalOptions{Deterministic: true}.Marshal(a)
	}
	alone, err := ask()
	require.NoError(t, err)
	var all sync.WaitGroup
	for range 8 {
		all.Go(func() {
			for range 4 {
				if got, err := ask(); err != nil || !bytes.Equal(got, alone) {
					t.Errorf("one of many got another answer, or %v", err)
				}
			}
		})
	}
	all.Wait()
}
