package history

import (
	"crypto/sha256"
	"encoding/binary"
	"encoding/json"

	"loambank/controller/decide"
	"loambank/controller/house"
)

// Layout names what the values of a house stand for, in their order.
type Layout struct {
	House  string
	Probes []string
	Stores []StoreLayout
}

// StoreLayout names a store and its fans.
type StoreLayout struct {
	Name string
	Fans []string
}

// book is a layout as it is stored: with the words for the numbers of its time, so that a later
// program with other lists reads them right.
type book struct {
	Layout
	States, Reasons []string
}

// bookOf returns the book of a house of these settings.
func bookOf(s *house.Settings) book {
	b := book{Layout: Layout{House: s.Name}}
	for i := range s.Probes {
		b.Probes = append(b.Probes, s.Probes[i].Name)
	}
	for i := range s.Decide.Stores {
		store := StoreLayout{Name: s.Decide.Stores[i].Name}
		for _, f := range s.Decide.Stores[i].Fans {
			store.Fans = append(store.Fans, f.Name)
		}
		b.Stores = append(b.Stores, store)
	}
	for a := range decide.Activity(decide.Activities) {
		b.States = append(b.States, a.String())
	}
	for c := range decide.Code(decide.Codes) {
		b.Reasons = append(b.Reasons, c.String())
	}
	return b
}

// id is the key of the layout: the same names have the same, in every run.
func (b *book) id() (id int64, blob []byte, err error) {
	text, err := json.Marshal(b)
	if err != nil {
		return 0, nil, err
	}
	if blob, err = seal(text); err != nil {
		return 0, nil, err
	}
	hash := sha256.Sum256(text)
	return int64(binary.LittleEndian.Uint32(hash[:])), blob, nil // short: it stands in every row
}

// state returns this program's activity for a number of the book's time; one that is no longer in
// the list is Rest.
func (b *book) state(n uint64) (a decide.Activity) {
	if n < uint64(len(b.States)) && a.UnmarshalText([]byte(b.States[n])) != nil {
		return decide.Rest
	}
	return a
}

// reason is state for a reason code; one no longer in the list is NoReason.
func (b *book) reason(n uint64) (c decide.Code) {
	if n < uint64(len(b.Reasons)) && c.UnmarshalText([]byte(b.Reasons[n])) != nil {
		return decide.NoReason
	}
	return c
}
