package history

import (
	"testing"

	"loambank/controller/decide"
	"loambank/controller/house"
	"loambank/controller/judge"
)

// FuzzDecode gives every decoder anything: none panics, and a block that is accepted is written
// again as one that reads the same.
func FuzzDecode(f *testing.F) {
	b := &book{Layout: Layout{Probes: []string{"air"}, Stores: []StoreLayout{{Name: "beds"}}}}
	p := period{stepS: minuteS}
	p.begin(60, &b.Layout)
	p.add([]judge.Verdict{{Value: 7, Quality: judge.Good}}, &decide.Decision{})
	var w sampleWriter
	w.add(0, &p)
	f.Add(w.b)
	f.Add(encodeDecision(5, &decide.Decision{}, 1))
	f.Add(encodeBlock(77, []entry{{ns: 1, seen: house.Seen{StepS: 10, Raw: []judge.Raw{{Value: 1, OK: true}}}, digest: 9}}))
	f.Fuzz(func(t *testing.T, data []byte) {
		decodeSamples(data, 0, minuteS, b)
		decodeDecision(data, b)
		unseal(data)
		unseal(sealPlain(data))
		after, entries, err := decodeBlock(data)
		if err != nil {
			return
		}
		same, again, err := decodeBlock(encodeBlock(after, entries))
		if err != nil || len(again) != len(entries) || same != after {
			t.Fatalf("%d ticks became %d, %v", len(entries), len(again), err)
		}
	})
}
