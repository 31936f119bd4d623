package judge

import (
	"fmt"
	"strings"
)

// word is a closed list's word for v, or its kind and number where v is outside the list.
func word(kind string, words []string, v uint8) string {
	if int(v) < len(words) {
		return words[v]
	}
	return fmt.Sprintf("%s(%d)", kind, v)
}

// marshalWord is word for writing: a value outside the list is an error, not a text that nobody
// could read back.
func marshalWord(kind string, words []string, v uint8) ([]byte, error) {
	if int(v) < len(words) {
		return []byte(words[v]), nil
	}
	return nil, fmt.Errorf("%s %d is not in its list; it ends at %d", kind, v, len(words)-1)
}

// parseWord finds text in a closed list.
func parseWord(kind string, words []string, text string) (uint8, error) {
	for i, w := range words {
		if w == text {
			return uint8(i), nil
		}
	}
	named := words
	if named[0] == "" {
		named = named[1:]
	}
	return 0, fmt.Errorf("%s %q is not known; it is one of %s", kind, text, strings.Join(named, ", "))
}
