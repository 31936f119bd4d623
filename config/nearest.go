package config

// nearest returns the known word that word was most likely meant to be, "" where none is near.
func nearest(word string, known []string) string {
	if len(word) > maxName {
		return ""
	}
	best, bestAt := max(1, len(word)/3)+1, ""
	for _, k := range known {
		if d := distance(word, k); d < best {
			best, bestAt = d, k
		}
	}
	return bestAt
}

// distance counts the letters to insert, drop, replace or swap with their neighbour that turn a
// into b (optimal string alignment).
func distance(a, b string) int {
	before, last, row := make([]int, len(b)+1), make([]int, len(b)+1), make([]int, len(b)+1)
	for j := range last {
		last[j] = j
	}
	for i := range len(a) {
		row[0] = i + 1
		for j := range len(b) {
			step := 1
			if a[i] == b[j] {
				step = 0
			}
			row[j+1] = min(last[j+1]+1, row[j]+1, last[j]+step)
			if i > 0 && j > 0 && a[i] == b[j-1] && a[i-1] == b[j] {
				row[j+1] = min(row[j+1], before[j-1]+1)
			}
		}
		before, last, row = last, row, before
	}
	return last[len(b)]
}
