package greenhouse

// The nodes of a house whose temperatures one step finds together: up to three layers of cover
// from the outermost inwards, leaves, air. Air comes last, so that it is what is left when the
// others are eliminated.
const (
	leafNode = 3
	airNode  = 4
	nodes    = 5
)

// network is a set of nodes with conductances between them, W/K, and heat into them, W.
type network struct {
	g   [nodes][nodes]float64
	w   [nodes]float64
	inv [airNode]float64 // of each node's own conductance, once reduced; 0 where it has none
}

// join lets heat pass between two nodes.
func (n *network) join(i, j int, wK float64) {
	n.g[i][i] += wK
	n.g[j][j] += wK
	n.g[i][j] -= wK
	n.g[j][i] -= wK
}

// tie lets heat pass between a node and something of a given temperature, °C.
func (n *network) tie(i int, wK, toC float64) {
	n.g[i][i] += wK
	n.w[i] += wK * toC
}

// heat gives a node heat that grows by risingWK for each K of it.
func (n *network) heat(i int, atZeroW, risingWK float64) {
	n.w[i] += atZeroW
	n.g[i][i] -= risingWK
}

// reduce eliminates all nodes but air. Nodes without any conductance stay at 0.
func (n *network) reduce() {
	for k := range airNode {
		own := &n.g[k]
		if own[k] == 0 {
			continue
		}
		n.inv[k] = 1 / own[k]
		for i := k + 1; i < nodes; i++ {
			if own[i] == 0 { // the conductances are alike both ways
				continue
			}
			f, other := own[i]*n.inv[k], &n.g[i]
			for j := k + 1; j < nodes; j++ {
				other[j] -= f * own[j]
			}
			n.w[i] -= f * n.w[k]
		}
	}
}

// air is the air's temperature, once reduced.
func (n *network) air() float64 { return n.w[airNode] / n.g[airNode][airNode] }

// solve gives every node's temperature, once reduced, °C.
func (n *network) solve() (t [nodes]float64) {
	t[airNode] = n.air()
	for i := airNode - 1; i >= 0; i-- {
		sum := n.w[i]
		for j := i + 1; j < nodes; j++ {
			sum -= n.g[i][j] * t[j]
		}
		t[i] = sum * n.inv[i]
	}
	return t
}
