// Package language reads the texts of a rule: the condition under when, the sentences that say why, and the sums of plans.
//
// An expression goes through four passes, in this order of files: source.go parses and typos.go answers the typos; limits.go
// and dialect.go let only the rule language through, and not too much of it; unroll.go writes any(motions, …) out, one copy a member;
// resolve.go (with compare.go, numbers.go, words.go, paths.go and tags.go) looks up every path and builds the tree of package predicate;
// check.go has expr's checker agree on the types. sentence.go reads texts with expressions in braces. Each mistake stands at its letter in
// the author's file.
//
// reader.go is what the reader of a book calls.
package language
