package port

// Drain reads all pages of a list that is small by its nature.
func Drain[T any](list func(Page) ([]T, string, error)) ([]T, error) {
	var all []T
	page := Page{Limit: 500}
	for {
		items, next, err := list(page)
		if err != nil {
			return nil, err
		}
		all = append(all, items...)
		if next == "" {
			return all, nil
		}
		page.After = next
	}
}
