// Package text renders answers of the service for people: plain lines of at most a hundred columns, the same
// whether the answer was made in this process or came over the network. It decides nothing and drops no
// referral, question, caution or stop rule.
package text
