package port

import (
	"strconv"

	"barrelbook/domain/mill"
	"barrelbook/domain/practice"
)

// Settings is what is set up in the works, all of it by name, stands in the order
// of mill and pass order: practices in the versions in force.
type Settings struct {
	Revision  int64
	Practices []practice.Practice
	Mills     []mill.Mill
	Grades    []Grade
	Stands    []mill.Stand
}

// Part is a part of a table whose rows change together: those of one roll, or one
// stay.
type Part struct{ Table, Key string }

// PartsOfRoll are those that a roll is in: its projection and its fatigue.
func PartsOfRoll(number string) []Part {
	return []Part{{Table: "roll_states", Key: number}, {Table: "roll_damage", Key: number}}
}

// PartOfStay is that of a stay of a roll.
func PartOfStay(s Stay) Part {
	return Part{Table: "mountings", Key: s.Roll + " " + strconv.FormatInt(s.ID, 10)}
}
