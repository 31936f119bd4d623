package chart

import "slices"

// letterPx is about how wide a letter is.
const letterPx = 7

// What a key draws before a name takes so many pixels.
const (
	curveSample = 31
	laneSample  = 19
)

// keyPlace is where an entry of a key begins.
type keyPlace struct {
	x   float64
	row int
}

// keyed places the entries of a key, in further rows where they would not fit into one.
func (c *Chart) keyed(names []string, samplePx float64) (all []keyPlace) {
	const betweenPx, begin = 22, left + 40
	at := keyPlace{x: begin}
	for _, name := range names {
		long := samplePx + letterPx*float64(len([]rune(name)))
		if at.x > begin && at.x+long > float64(c.width()-right) {
			at = keyPlace{x: begin, row: at.row + 1}
		}
		all = append(all, at)
		at.x += long + betweenPx
	}
	return all
}

// keyHeight is what a key takes, at least one row.
func (c *Chart) keyHeight(names []string, samplePx float64) int {
	rows := 1
	if all := c.keyed(names, samplePx); len(all) > 0 {
		rows += all[len(all)-1].row
	}
	return rows * keyHeight
}

// names are those of a panel's curves.
func (p *Panel) names() (all []string) {
	for i := range p.Curves {
		all = append(all, p.Curves[i].Name)
	}
	return all
}

// kinds are the kinds of stretches that stand in a lane, in the order of their colours.
func (c *Chart) kinds() (all []string) {
	stand := c.standing()
	for _, kind := range c.Kinds {
		if slices.Contains(stand, kind) {
			all = append(all, kind)
		}
	}
	for _, kind := range stand {
		if !slices.Contains(all, kind) {
			all = append(all, kind)
		}
	}
	return all
}

// standing are the kinds of stretches in the order in which they first stand.
func (c *Chart) standing() (all []string) {
	for _, lane := range c.Lanes {
		for _, s := range lane.Stretches {
			if !slices.Contains(all, s.Kind) {
				all = append(all, s.Kind)
			}
		}
	}
	return all
}

// colour is which colour a kind has.
func (c *Chart) colour(kind string) int {
	i := slices.Index(c.Kinds, kind)
	if i < 0 {
		others := slices.DeleteFunc(c.standing(), func(k string) bool { return slices.Contains(c.Kinds, k) })
		i = len(c.Kinds) + slices.Index(others, kind)
	}
	return i % len(colours)
}
