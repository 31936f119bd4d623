package tune

// Near returns which of some costs is the least, the first and the last of those about it that come
// near it, and how much more the worst costs. Near is within a tenth of that: where nothing depends on
// the choice, all are near. It wants one cost or more.
func Near(costs []float64) (least, first, last int, worst float64) {
	most := 0
	for i := range costs {
		if costs[i] < costs[least] {
			least = i
		}
		if costs[i] > costs[most] {
			most = i
		}
	}
	worst = costs[most] - costs[least]
	near := func(i int) bool { return costs[i] <= costs[least]+worst/10 }
	first, last = least, least
	for first > 0 && near(first-1) {
		first--
	}
	for last < len(costs)-1 && near(last+1) {
		last++
	}
	return least, first, last, worst
}
