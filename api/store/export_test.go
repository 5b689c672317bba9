package store

// Setting reads a setting of the connection that writes.
func Setting(s *Store, query string) (value string) {
	if err := s.write.Raw(query).Scan(&value).Error; err != nil {
		return err.Error()
	}
	return value
}
