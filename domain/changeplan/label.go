package changeplan

// label is a partial plan that has just opened (and paid) a stop at boundary
// pos. Its cost excludes what each stand costs at the end.
type label struct {
	cost   float64
	total  float64 // cost plus the bound on what is to come
	parent int32
	pos    int32
}

// labels keeps partial plans, each with the last changes of its n stands, in
// blocks, so that growing copies nothing and never needs room for both copies.
type labels struct {
	n      int
	count  int
	blocks [][]label
	last   [][]int32
	free   []int32 // given back, to be used again
}

const blockBits = 12

func (l *labels) at(i int32) *label { return &l.blocks[i>>blockBits][i&(1<<blockBits-1)] }

func (l *labels) lastOf(i int32) []int32 {
	at := int(i&(1<<blockBits-1)) * l.n
	return l.last[i>>blockBits][at : at+l.n]
}

// add keeps a label and gives its place.
func (l *labels) add(one label, last []int32) int32 {
	i := int32(l.count)
	if n := len(l.free); n > 0 {
		i, l.free = l.free[n-1], l.free[:n-1]
	} else {
		if l.count&(1<<blockBits-1) == 0 {
			l.blocks = append(l.blocks, make([]label, 1<<blockBits))
			l.last = append(l.last, make([]int32, l.n<<blockBits))
		}
		l.count++
	}
	*l.at(i) = one
	copy(l.lastOf(i), last)
	return i
}

// mostBytes bounds what the labels of one search may take.
const mostBytes = 128 << 20

// affordable is how many labels of n stands fit into mostBytes: 24 bytes for the
// label, 4 for each stand, 4 for its place in the list of its boundary.
func affordable(n int) int { return mostBytes / (24 + 4*n + 4) }
