package store

import "database/sql"

// Stats are the counts of each pool of connections, for the metrics: one pool
// on PostgreSQL, one that writes and one that reads on SQLite.
func (s *Store) Stats() map[string]sql.DBStats {
	stats := map[string]sql.DBStats{}
	if db, err := s.write.DB(); err == nil {
		stats["write"] = db.Stats()
	}
	if db, err := s.read.DB(); err == nil && s.read != s.write {
		stats["read"] = db.Stats()
	}
	return stats
}
