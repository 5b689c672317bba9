package term

// The few marks that help the eye find the answer. A line never depends on
// them: without colour the words say it all.

// Bold is for the line that holds the answer.
func (s *Streams) Bold(text string) string { return s.mark("1", text) }

// Good is for what is within its limits.
func (s *Streams) Good(text string) string { return s.mark("32", text) }

// Doubt is for what is marginal or not known.
func (s *Streams) Doubt(text string) string { return s.mark("33", text) }

// Bad is for what cannot be met.
func (s *Streams) Bad(text string) string { return s.mark("31", text) }

func (s *Streams) mark(code, text string) string {
	if !s.colour || text == "" {
		return text
	}
	return "\x1b[" + code + "m" + text + "\x1b[0m"
}
