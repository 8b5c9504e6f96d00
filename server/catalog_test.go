package server_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	v1 "drillwright/proto/drillwright/v1"
	"drillwright/server"
)

func TestGetDrillHasAllTags(t *testing.T) {
	conn := boot(t, server.Config{Edition: edition})
	resp, err := v1.NewCatalogServiceClient(conn).GetDrill(within(t), &v1.GetDrillRequest{Id: "barbell-overhead-press"})
	require.NoError(t, err)
	d := resp.GetDrill()
	require.Equal(t, edition.Revision, resp.GetRevision())
	require.Equal(t, "vertical_push", d.GetPattern())
	require.NotEmpty(t, d.GetMuscles().GetPrime())
	require.NotEmpty(t, d.GetRows()[0].GetRegions())
	require.NotEmpty(t, d.GetRows()[0].GetArcs())
	require.NotEmpty(t, d.GetRows()[0].GetStressors())
	require.NotEmpty(t, d.GetTagsFrom().GetKind())
	require.True(t, d.GetOverhead())

	resp, err = v1.NewCatalogServiceClient(conn).GetDrill(within(t), &v1.GetDrillRequest{Id: "step-up-15cm"})
	require.NoError(t, err)
	require.Equal(t, "MacAskill MJ et al. 2014", resp.GetDrill().GetTagsFrom().GetCite(), "in words")
}

func TestPagesHoldEveryDrillOnce(t *testing.T) {
	conn := boot(t, server.Config{Edition: edition})
	var ids []string
	req := &v1.ListDrillsRequest{PageSize: 37}
	for {
		page, err := v1.NewCatalogServiceClient(conn).ListDrills(within(t), req)
		require.NoError(t, err)
		require.EqualValues(t, len(edition.Catalogue.Drills), page.GetTotalSize())
		for _, d := range page.GetDrills() {
			ids = append(ids, d.GetId())
		}
		if req.PageToken = page.GetNextPageToken(); req.PageToken == "" {
			break
		}
	}
	require.Equal(t, edition.Catalogue.DrillIDs(), ids)
}

func TestPageSizes(t *testing.T) {
	conn := boot(t, server.Config{Edition: edition})
	size := func(n int32) int {
		page, err := v1.NewCatalogServiceClient(conn).ListDrills(within(t), &v1.ListDrillsRequest{PageSize: n})
		require.NoError(t, err)
		return len(page.GetDrills())
	}
	all := len(edition.Catalogue.Drills)
	require.Equal(t, min(50, all), size(0))
	require.Equal(t, min(200, all), size(1_000_000))
	_, err := v1.NewCatalogServiceClient(conn).ListDrills(within(t), &v1.ListDrillsRequest{PageSize: -1})
	require.Contains(t, violations(t, err), "page_size")
}

func TestATokenIsGoodForItsListOnly(t *testing.T) {
	conn := boot(t, server.Config{Edition: edition})
	catalogue := v1.NewCatalogServiceClient(conn)
	page, err := catalogue.ListDrills(within(t), &v1.ListDrillsRequest{PageSize: 1})
	require.NoError(t, err)
	for _, token := range []string{page.GetNextPageToken() + "x", "nonsense", "AAAA"} {
		_, err = catalogue.ListDrills(within(t), &v1.ListDrillsRequest{PageToken: token})
		require.Contains(t, violations(t, err), "page_token", token)
	}
	_, err = catalogue.ListDrills(within(t), &v1.ListDrillsRequest{PageToken: page.GetNextPageToken(), Filter: "drill.overhead"})
	require.Contains(t, violations(t, err), "page_token")
	_, err = catalogue.ListTerms(within(t), &v1.ListTermsRequest{PageToken: page.GetNextPageToken()})
	require.Contains(t, violations(t, err), "page_token")
}

func TestFilter(t *testing.T) {
	conn := boot(t, server.Config{Edition: edition})
	catalogue := v1.NewCatalogServiceClient(conn)
	page, err := catalogue.ListDrills(within(t), &v1.ListDrillsRequest{Filter: "drill.overhead and 'band' in drill.kit"})
	require.NoError(t, err)
	for _, d := range page.GetDrills() {
		require.True(t, d.GetOverhead(), d.GetId())
		require.Contains(t, d.GetKit(), "band", d.GetId())
	}
	_, err = catalogue.ListDrills(within(t), &v1.ListDrillsRequest{Filter: "drill.overhed"})
	require.Contains(t, violations(t, err)["filter"], "overhead")
	_, err = catalogue.ListDrills(within(t), &v1.ListDrillsRequest{Filter: "client.age_years > 40"})
	require.Contains(t, violations(t, err), "filter")
}

func TestTerms(t *testing.T) {
	conn := boot(t, server.Config{Edition: edition})
	catalogue := v1.NewCatalogServiceClient(conn)
	page, err := catalogue.ListTerms(within(t), &v1.ListTermsRequest{Kind: "motion", PageSize: 1})
	require.NoError(t, err)
	first := page.GetTerms()[0]
	require.Equal(t, "shoulder.flexion", first.GetId())
	require.True(t, first.GetSided())
	require.EqualValues(t, 200, first.GetGreatestDeg())
	require.NotEmpty(t, first.GetHow())
	for _, kind := range []string{"region", "condition", "kit", "test", "question", "question_list", "rung", "plan", "source"} {
		page, err := catalogue.ListTerms(within(t), &v1.ListTermsRequest{Kind: kind})
		require.NoError(t, err, kind)
		require.NotEmpty(t, page.GetTerms(), kind)
		for _, term := range page.GetTerms() {
			require.Equal(t, kind, term.GetKind())
			require.NotEmpty(t, term.GetName(), term.GetId())
		}
	}
	page, err = catalogue.ListTerms(within(t), &v1.ListTermsRequest{Kind: "source"})
	require.NoError(t, err)
	for _, term := range page.GetTerms() {
		s := term.GetSource()
		require.NotEmpty(t, s.GetAuthors(), term.GetId())
		require.NotZero(t, s.GetYear(), term.GetId())
		require.NotEmpty(t, s.GetTitle(), term.GetId())
		require.NotEmpty(t, s.GetPublishedIn(), term.GetId())
		require.NotEmpty(t, s.GetSays(), term.GetId())
		require.NotEmpty(t, s.GetCitedBy(), term.GetId())
		require.Equal(t, s.GetSeen(), s.GetUnsure() == "", term.GetId())
		require.Contains(t, term.GetName(), s.GetAuthors()[0])
	}
	_, err = catalogue.ListTerms(within(t), &v1.ListTermsRequest{Kind: "muscel"})
	require.Equal(t, map[string]string{"kind": `unknown kind "muscel"; did you mean "muscle"?`}, violations(t, err))
}
