package server

import (
	"context"
	"fmt"
	"slices"

	"drillwright/catalog/authored"
	v1 "drillwright/proto/drillwright/v1"
	"drillwright/rules"
	"drillwright/rules/client"
)

// ListTerms implements CatalogService.
func (s *Server) ListTerms(ctx context.Context, req *v1.ListTermsRequest) (*v1.ListTermsResponse, error) {
	e, err := s.edition(ctx)
	if err != nil {
		return nil, err
	}
	terms, err := termsOf(e.Edition, req.GetKind())
	if err != nil {
		return nil, err
	}
	page, next, err := pageOf(terms, req.GetPageSize(), sizes{usual: 200, most: 1000}, req.GetPageToken(), e.Revision+" terms "+req.GetKind())
	if err != nil {
		return nil, err
	}
	return &v1.ListTermsResponse{Terms: page, NextPageToken: next, TotalSize: int32(len(terms)), Revision: e.Revision}, nil
}

// bookKinds are terms of the rulebook; they follow those of the vocabulary.
var bookKinds = []string{"question_list", "question", "rung", "plan", "source"}

// termsOf lists the terms of one kind, or all. The error is *client.Invalid for an unknown kind.
func termsOf(e *rules.Edition, kind string) ([]*v1.Term, error) {
	kinds := append(e.Catalogue.Vocabulary.Kinds(), bookKinds...)
	if kind != "" && !slices.Contains(kinds, kind) {
		return nil,
			client.NewInvalid([]client.Violation{{Field: "kind", Message: fmt.Sprintf("unknown kind %q", kind), Suggestion: authored.DidYouMean(kind,
				kinds)}})
	}
	all := append(each(e.Catalogue.Vocabulary.Terms(), termTo(e.Catalogue.Vocabulary)), bookTerms(e)...)
	return slices.DeleteFunc(all, func(t *v1.Term) bool { return kind != "" && t.GetKind() != kind }), nil
}

func bookTerms(e *rules.Edition) []*v1.Term {
	var lists, questions, rungs, plans, sources []*v1.Term
	for _, l := range e.Frame.Lists {
		lists = append(lists, &v1.Term{Kind: "question_list", Id: l.ID, Name: l.Name, Regions: one(l.Region)})
		for _, q := range l.Questions {
			questions = append(questions, &v1.Term{Kind: "question", Id: q.ID, Name: q.Asks, Regions: one(q.Region), Within: l.ID,
				Urgency: q.Urgency})
		}
	}
	for _, l := range e.Frame.Ladders {
		for _, id := range l.Rungs {
			rungs = append(rungs, &v1.Term{Kind: "rung", Id: id, Name: id, Regions: one(l.Region), Within: l.Region})
		}
	}
	for _, p := range e.Book.Plans {
		plans = append(plans, &v1.Term{Kind: "plan", Id: p.ID, Name: p.Name})
	}
	for _, s := range e.Book.Sources {
		sources = append(sources, &v1.Term{Kind: "source", Id: s.ID.Value, Name: s.Short(), Source: sourceTo(s)})
	}
	return slices.Concat(lists, questions, rungs, plans, sources)
}

func sourceTo(s *rules.SourceEntry) *v1.Source {
	return &v1.Source{Authors: s.Authors, Year: int32(s.Year), Title: s.Title, PublishedIn: s.PublishedIn, Identifier: s.Identifier,
		Says: s.Says, Seen: *s.Seen, Unsure: s.Unsure, CitedBy: s.CitedBy}
}

func one(id string) []string {
	if id == "" {
		return nil
	}
	return []string{id}
}
