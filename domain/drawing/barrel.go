package drawing

// Spot is a reading at a place on a barrel: how far along it from the drive side
// and at what angle from the roll's mark. Spots of one course are drawn alike.
type Spot struct {
	Course        string
	At, AroundDeg float64
}

// FlatBarrel lays a barrel flat with its spots on it, from the end at the drive
// side at 0 to that at the operator side. along names the axis and its unit.
func FlatBarrel(title, along string, length float64, spots []Spot) Panel {
	p := Panel{Title: title, X: along + ", from the drive side", Y: "around, degrees from the mark", FromZero: true,
		Marks: []Level{{Name: "drive side", At: 0}, {Name: "operator side", At: length}}}
	clouds := map[string]int{}
	for _, s := range spots {
		i, known := clouds[s.Course]
		if !known {
			i = len(p.Points)
			clouds[s.Course] = i
			p.Points = append(p.Points, Cloud{Name: s.Course})
		}
		p.Points[i].X, p.Points[i].Y = append(p.Points[i].X, s.At), append(p.Points[i].Y, s.AroundDeg)
	}
	return p
}
