package live

// An edge is a side of a cell of the grid: from the place (i, j) to the right, or upwards.
type edge struct {
	i, j int
	up   bool
}

// rings returns the closed lines along which the density has a value, by marching over the cells (Lorensen and Cline 1987, Marching
// cubes, in two dimensions). Since the density is zero along the edge of the grid, every line closes.
func (g *grid) rings(level float64) [][][2]float64 {
	next := map[edge][]edge{}
	join := func(a, b edge) { next[a], next[b] = append(next[a], b), append(next[b], a) }
	for j := range cells {
		for i := range cells {
			bottom, right := edge{i, j, false}, edge{i + 1, j, true}
			top, left := edge{i, j + 1, false}, edge{i, j, true}
			var cut []edge
			for _, e := range []edge{bottom, right, top, left} {
				if a, b := g.ends(e); (a >= level) != (b >= level) {
					cut = append(cut, e)
				}
			}
			switch {
			case len(cut) == 2:
				join(cut[0], cut[1])
			case len(cut) == 4: // a saddle: two corners that face each other are inside
				middle := (g.v[j][i] + g.v[j][i+1] + g.v[j+1][i] + g.v[j+1][i+1]) / 4
				if (g.v[j][i] >= level) == (middle >= level) {
					join(bottom, right)
					join(top, left)
				} else {
					join(bottom, left)
					join(top, right)
				}
			}
		}
	}
	return g.follow(next, level)
}

// ends returns the density at both ends of an edge.
func (g *grid) ends(e edge) (a, b float64) {
	if e.up {
		return g.v[e.j][e.i], g.v[e.j+1][e.i]
	}
	return g.v[e.j][e.i], g.v[e.j][e.i+1]
}

// follow walks along the cut edges until each line is closed, in the order of the grid.
func (g *grid) follow(next map[edge][]edge, level float64) (all [][][2]float64) {
	seen := map[edge]bool{}
	for j := range cells + 1 {
		for i := range cells + 1 {
			for _, up := range []bool{false, true} {
				at := edge{i, j, up}
				if len(next[at]) == 0 || seen[at] {
					continue
				}
				var ring [][2]float64
				for more := true; more; {
					seen[at] = true
					ring = append(ring, g.cross(at, level))
					more = false
					for _, n := range next[at] {
						if !seen[n] {
							at, more = n, true
							break
						}
					}
				}
				all = append(all, ring)
			}
		}
	}
	return all
}

// cross returns where on an edge the density has the level.
func (g *grid) cross(e edge, level float64) [2]float64 {
	a, b := g.ends(e)
	f := (level - a) / (b - a)
	x, y := g.x+float64(e.i)*g.dx, g.y+float64(e.j)*g.dy
	if e.up {
		y += f * g.dy
	} else {
		x += f * g.dx
	}
	return [2]float64{figures(x, 5), figures(y, 5)}
}
