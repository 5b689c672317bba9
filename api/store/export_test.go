package store

// Setting reads a setting of the connection that writes.
func Setting(s *Store, query string) (value string) {
	if err := s.write.Raw(query).Scan(&value).Error; err != nil {
		return err.Error()
	}
	return value
}

// MostPrepared is how many statements a connection to a data file keeps.
const MostPrepared = mostPrepared

// PreparedOf is how many statements a connection of the driver keeps now.
func PreparedOf(c any) int { return len(c.(*preparingConn).kept) }
