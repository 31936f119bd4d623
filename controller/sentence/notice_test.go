package sentence_test

import (
	"strings"
	"testing"

	"loambank/controller/learn"
	"loambank/controller/sentence"
)

// Every warning and cause has words of its own, with what to do; nothing has none.
func TestEveryNoticeHasItsWords(t *testing.T) {
	seen := map[sentence.Advice]string{}
	check := func(name string, a sentence.Advice, store bool) {
		switch {
		case !strings.HasSuffix(a.Text, ".") || !strings.HasSuffix(a.Do, "."):
			t.Errorf("%s: %+v", name, a)
		case store != strings.Contains(a.Text, "beds"):
			t.Errorf("%s names no store, or one that it does not speak of: %s", name, a.Text)
		case seen[a] != "":
			t.Errorf("%s says the same as %s", name, seen[a])
		}
		seen[a] = name
	}
	for w := learn.SideOpen; w <= learn.StoreDrier; w++ {
		check(w.String(), sentence.Notice(w, "beds"), w >= learn.ProbeAtPipe)
	}
	for c := learn.Airflow; c <= learn.Water; c++ {
		check(c.String(), sentence.Mismatch(c, "beds"), true)
	}
	if sentence.Notice(learn.NoWarning, "beds") != (sentence.Advice{}) || sentence.Mismatch(learn.Agree, "beds") != (sentence.Advice{}) {
		t.Error("nothing has words")
	}
}
