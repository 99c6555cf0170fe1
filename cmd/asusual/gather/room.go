package gather

// Room returns room for n numbers, none used yet, that a large set is read into. Where the system has large pages, they are asked
// for: to come to a page at a time costs as much as reading a small file.
func Room(n int) []float64 {
	room := make([]float64, 0, n)
	largePages(room[:n])
	return room
}
