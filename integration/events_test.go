package integration_test

import "fringework/api"

// allEvents reads the whole log, by its links.
func allEvents(c *caller) (all []api.Event) {
	c.Helper()
	for path := "/v1/events?limit=200"; path != ""; {
		page := read[api.EventPage](c, path)
		all = append(all, page.Items...)
		path = page.Links.Next
	}
	for i, e := range all {
		if e.Number != int64(i+1) {
			c.Fatalf("event %d has the number %d", i+1, e.Number)
		}
	}
	return all
}

// eventKinds counts the events of the log by kind.
func eventKinds(c *caller) map[string]int {
	c.Helper()
	kinds := map[string]int{}
	for _, e := range allEvents(c) {
		kinds[e.Kind]++
	}
	return kinds
}
