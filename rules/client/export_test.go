package client

// Searches is how many searches for a near word were made for what was found wrong with one request.
func Searches(list []Violation) int {
	for _, v := range list {
		if v.unknown != nil {
			return v.unknown.searches.made
		}
	}
	return 0
}
