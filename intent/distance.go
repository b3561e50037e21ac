package intent

// Distance is the number of letters to add, drop or change between two words.
func Distance(a, b string) int { return Apart([]rune(a), []rune(b)) }

// Apart is the same for rows of anything.
func Apart[T comparable](x, y []T) int {
	row := make([]int, len(y)+1)
	for j := range row {
		row[j] = j
	}
	for i := range x {
		diagonal := row[0]
		row[0] = i + 1
		for j := range y {
			cost := diagonal
			if x[i] != y[j] {
				cost++
			}
			diagonal = row[j+1]
			row[j+1] = min(cost, row[j]+1, row[j+1]+1)
		}
	}
	return row[len(y)]
}
