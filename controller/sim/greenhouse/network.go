package greenhouse

// network is what the house's temperatures of one step follow from, all but the soil's: conductances,
// W/K, and heat, W, of up to three layers of cover from the outermost inwards, of leaves and of air. A
// layer touches its neighbours and the leaves, the innermost also the air.
type network struct {
	layer [3]tied
	leaf  tied
	air   tied
	n     int // layers
	// leafAir and innerAir are from leaves and from the innermost layer to air.
	leafAir, innerAir float64
	next              [2]float64 // of a layer to the next inwards
	toLeaf            [3]float64 // of a layer to leaves
}

// tied is a node: all that it is joined to together, W/K, and the heat that comes from there while it is
// at 0 °C, W. Once reduced, ownWK is one over it, but for the air's.
type tied struct{ ownWK, heatW float64 }

// to ties the node to something of a given temperature.
func (t *tied) to(wK, c float64) {
	t.ownWK += wK
	t.heatW += wK * c
}

// reduce eliminates all nodes but air, from the outermost inwards; layer and leaf hold one over what
// they are joined to from then on.
func (n *network) reduce() {
	inner := n.n - 1
	for i := range n.n {
		l := &n.layer[i]
		l.ownWK = 1 / l.ownWK
		leaf := n.toLeaf[i] * l.ownWK
		n.leaf.ownWK -= leaf * n.toLeaf[i]
		n.leaf.heatW += leaf * l.heatW
		if i < inner {
			by, next := n.next[i]*l.ownWK, &n.layer[i+1]
			next.ownWK -= by * n.next[i]
			next.heatW += by * l.heatW
			n.toLeaf[i+1] += leaf * n.next[i]
			continue
		}
		by := n.innerAir * l.ownWK
		n.air.ownWK -= by * n.innerAir
		n.air.heatW += by * l.heatW
		n.leafAir += leaf * n.innerAir
	}
	if n.leaf.ownWK > 0 {
		n.leaf.ownWK = 1 / n.leaf.ownWK
	}
	by := n.leafAir * n.leaf.ownWK
	n.air.ownWK -= by * n.leafAir
	n.air.heatW += by * n.leaf.heatW
}

// temps are the temperatures of a house's nodes, °C. What a house has not stays at 0.
type temps struct {
	layer     [3]float64
	leaf, air float64
}

// solve gives every node's temperature with the air's, once reduced.
func (n *network) solve(t *temps, air float64) {
	t.air = air
	t.leaf = (n.leaf.heatW + n.leafAir*t.air) * n.leaf.ownWK
	from := n.innerAir * t.air
	for i := n.n - 1; i >= 0; i-- {
		t.layer[i] = (n.layer[i].heatW + from + n.toLeaf[i]*t.leaf) * n.layer[i].ownWK
		if i > 0 {
			from = n.next[i-1] * t.layer[i]
		}
	}
}
