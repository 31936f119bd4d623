package tune

import (
	"errors"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// each makes a function of one point fit to be asked.
func each(of func(Point) float64) func([]Point) ([]float64, error) {
	return func(points []Point) (scores []float64, err error) {
		for _, p := range points {
			scores = append(scores, of(p))
		}
		return scores, nil
	}
}

func TestTheWalkFindsKnownMinima(t *testing.T) {
	wide := Box{Lo: Point{-400, -400}, Hi: Point{400, 400}}
	for _, c := range []struct {
		what  string
		of    func(x, y float64) float64
		box   Box
		start Point
		want  Point
	}{
		{"a sphere from far off", func(x, y float64) float64 { return (x-3)*(x-3) + (y+2)*(y+2) }, wide, Point{-310, 250}, Point{30, -20}},
		// Jamil and Yang, A literature survey of benchmark functions, 2013, no. 17.
		{"Booth", func(x, y float64) float64 {
			return (x+2*y-7)*(x+2*y-7) + (2*x+y-5)*(2*x+y-5)
		}, wide, Point{-90, 80}, Point{10, 30}},
		{"a minimum beyond the box, at its edge", func(x, y float64) float64 { return x + 2*y }, Box{Lo: Point{-7, 3}, Hi: Point{9, 9}}, Point{9, 9}, Point{-7, 3}},
		{"a start outside the box", func(x, y float64) float64 { return x*x + y*y }, Box{Lo: Point{2, 2}, Hi: Point{9, 9}}, Point{-50, 50}, Point{2, 2}},
	} {
		got, err := Minimise(c.start, Point{64, 64}, c.box, 5000, each(func(p Point) float64 {
			return c.of(float64(p[0])/10, float64(p[1])/10)
		}))
		if err != nil || !slices.Equal(got, c.want) {
			t.Errorf("%s: %v, %v, want %v", c.what, got, err, c.want)
		}
	}
}

func TestNoNeighbourOfTheEndIsBetter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		const axes = 4
		number := rapid.Float64Range(-2, 2)
		var mix [axes][axes]float64
		var centre [axes]float64
		for i := range axes {
			centre[i] = 10 * number.Draw(t, "centre")
			for j := range axes {
				mix[i][j] = number.Draw(t, "mix")
			}
		}
		bowl := func(p Point) (sum float64) {
			for i := range axes {
				row := 0.0
				for j := range axes {
					row += mix[i][j] * (float64(p[j]) - centre[j])
				}
				sum += row * row
			}
			return sum
		}
		box := Box{Lo: Point{-25, -25, -25, -25}, Hi: Point{25, 25, 25, 25}}
		end, err := Minimise(Point{0, 0, 0, 0}, Point{8, 4, 2, 1}, box, 100_000, each(bowl))
		if err != nil {
			t.Fatal(err)
		}
		for axis := range axes {
			for _, way := range []int{-1, 1} {
				p := slices.Clone(end)
				p[axis] += way
				if slices.Equal(box.clamp(p), p) && bowl(p) < bowl(end) {
					t.Fatalf("%v is better than the end %v", p, end)
				}
			}
		}
	})
}

func TestTheWalkNeverLeavesTheBoxNorItsBudget(t *testing.T) {
	box := Box{Lo: Point{-3, 0, -1}, Hi: Point{5, 2, 1}}
	for most := range 40 {
		asked := 0
		best, seen := math.Inf(1), Point(nil)
		got, err := Minimise(Point{0, 0, 0}, Point{4, 1, 1}, box, most, each(func(p Point) float64 {
			asked++
			for i := range p {
				if p[i] < box.Lo[i] || p[i] > box.Hi[i] {
					t.Fatalf("asks for %v", p)
				}
			}
			score := math.Abs(float64(p[0]-4)) + math.Abs(float64(p[1]-2)) + float64(p[2]*p[2])
			if score < best {
				best, seen = score, slices.Clone(p)
			}
			return score
		}))
		if err != nil || asked > most {
			t.Fatalf("with %d to ask: %d asked, %v", most, asked, err)
		}
		if most > 0 && !slices.Equal(got, seen) {
			t.Fatalf("with %d to ask: returns %v, the best it saw is %v", most, got, seen)
		}
	}
}

func TestTheWalkEndsWithTheCallersError(t *testing.T) {
	stop := errors.New("stopped")
	rounds := 0
	_, err := Minimise(Point{0}, Point{8}, Box{Lo: Point{-99}, Hi: Point{99}}, 1000, func(points []Point) ([]float64, error) {
		if rounds++; rounds == 3 {
			return nil, stop
		}
		scores, _ := each(func(p Point) float64 { return float64(p[0]) })(points)
		return scores, nil
	})
	if !errors.Is(err, stop) || rounds != 3 {
		t.Errorf("%d rounds, %v", rounds, err)
	}
}
