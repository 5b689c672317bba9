package finish

import "fmt"

// The question of every shift: can the set in the stand finish the programme?
func ExampleCheck() {
	in := input(150)
	wearLimits(&in, 250)
	a, err := Check(in)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(a.Sentence)
	fmt.Printf("it can roll %d pieces more, %.0f t\n", a.More.Pieces, a.More.TonnageT)
	// Output:
	// F6 will not finish: W-1a reaches 250 µm wear at piece 126 of 150, after 2,520 t and 83.2 km (90 % sure not before piece 105)
	// it can roll 95 pieces more, 1900 t
}
