package config

import (
	"encoding"
	"fmt"
	"reflect"
	"strings"
	"time"

	"github.com/pelletier/go-toml/v2"
)

// schema compares the decoded file with the shape of File, so that every unknown key and every
// value of a wrong type is found at once, each with its line. What does not fit is taken out of
// the map: the rest can then be built and checked too.
type schema struct{ b *builder }

var textType = reflect.TypeFor[encoding.TextUnmarshaler]()

// table checks m against a struct type.
func (s schema) table(path string, m map[string]any, t reflect.Type) {
	fields := keysOf(t)
	names := make([]string, 0, len(fields))
	for _, f := range fields {
		names = append(names, f.name)
	}
	for key, v := range m {
		at := join(path, key)
		field, known := fieldOf(fields, key)
		if !known {
			s.unknown(at, key, path, names)
			delete(m, key)
			s.b.removed[at] = true
			continue
		}
		if !s.value(at, v, field.kind) {
			delete(m, key)
			s.b.removed[at] = true
		}
	}
}

func (s schema) unknown(at, key, path string, names []string) {
	remedy := "remove it"
	if near := nearest(key, names); near != "" {
		remedy = fmt.Sprintf("did you mean `%s`?", near)
		s.b.meant[join(path, near)] = true
	} else if homes := homesOf(key, "", reflect.TypeFor[File]()); len(homes) > 0 {
		remedy = "it belongs to " + strings.Join(homes, " or ")
	}
	s.b.fault(at, fmt.Sprintf("unknown key `%.40s`", key), remedy)
}

// homesOf lists the tables that have such a key.
func homesOf(key, path string, t reflect.Type) []string {
	var homes []string
	fields := keysOf(t)
	if _, has := fieldOf(fields, key); has && path != "" {
		homes = append(homes, path)
	} else if has {
		homes = append(homes, "the top of the file")
	}
	for _, f := range fields {
		if inner := tableIn(f.kind); inner != nil {
			homes = append(homes, homesOf(key, join(path, f.name), inner)...)
		}
	}
	return homes
}

// tableIn returns the struct that stands behind a key as a table or a list of tables, nil for none.
func tableIn(t reflect.Type) reflect.Type {
	for t.Kind() == reflect.Pointer || t.Kind() == reflect.Slice {
		t = t.Elem()
	}
	if t.Kind() != reflect.Struct || reflect.PointerTo(t).Implements(textType) {
		return nil
	}
	return t
}

// value checks v against type t and reports whether it may stay.
func (s schema) value(at string, v any, t reflect.Type) bool {
	if t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	switch {
	case reflect.PointerTo(t).Implements(textType):
		return s.scalar(at, v, "a quantity in quotes, such as \"65 °F\", \"10 min\" or \"1.2 kW\"", isText(v) || isNumber(v))
	case t.Kind() == reflect.String:
		return s.scalar(at, v, "text in quotes", isText(v))
	case t.Kind() == reflect.Bool:
		_, ok := v.(bool)
		return s.scalar(at, v, "true or false, without quotes", ok)
	case t.Kind() == reflect.Float64:
		return s.scalar(at, v, "a number without quotes", isNumber(v))
	case t.Kind() == reflect.Int64:
		_, ok := v.(int64)
		return s.scalar(at, v, "a whole number without quotes", ok)
	case t.Kind() == reflect.Struct:
		m, ok := v.(map[string]any)
		if !s.scalar(at, v, "a table, { key = value, … }", ok) {
			return false
		}
		s.table(at, m, t)
		return true
	case t.Kind() == reflect.Map:
		return s.names(at, v, t)
	}
	return s.list(at, v, t)
}

// scalar reports a value of a wrong kind.
func (s schema) scalar(at string, v any, want string, ok bool) bool {
	if !ok {
		s.b.fault(at, "is "+kindOf(v), "write "+want)
	}
	return ok
}

// names checks a table whose keys are the grower's own.
func (s schema) names(at string, v any, t reflect.Type) bool {
	m, ok := v.(map[string]any)
	if !s.scalar(at, v, "a table, { name = value, … }", ok) {
		return false
	}
	for key, v := range m {
		if !s.value(join(at, key), v, t.Elem()) {
			delete(m, key)
		}
	}
	return true
}

// list checks an array. One bad element spoils the whole, since the others would move up.
func (s schema) list(at string, v any, t reflect.Type) bool {
	elements, ok := v.([]any)
	if !ok {
		want := "a list in brackets, [ … ]"
		if _, table := v.(map[string]any); table {
			want = fmt.Sprintf("[[%s]] with double brackets, once for each", plain(at))
		}
		return s.scalar(at, v, want, false)
	}
	good := true
	for i, e := range elements {
		good = s.value(index(at, i), e, t.Elem()) && good
	}
	return good
}

// plain is a path without its indices, as it stands in a table's header.
func plain(path string) string {
	for {
		open := strings.IndexByte(path, '[')
		end := strings.IndexByte(path, ']')
		if open < 0 || end < open {
			return path
		}
		path = path[:open] + path[end+1:]
	}
}

func isText(v any) bool {
	_, ok := v.(string)
	return ok
}

func isNumber(v any) bool {
	switch v.(type) {
	case int64, float64:
		return true
	}
	return false
}

// kindOf names the type of a TOML value for people.
func kindOf(v any) string {
	switch v := v.(type) {
	case string:
		return fmt.Sprintf("the text %.40q", v)
	case int64, float64:
		return fmt.Sprintf("the bare number %v", v)
	case bool:
		return fmt.Sprintf("the bare word %v", v)
	case []any:
		return "a list"
	case map[string]any:
		return "a table"
	case time.Time, toml.LocalDate, toml.LocalTime, toml.LocalDateTime:
		return "a date or time without quotes"
	}
	return "something else"
}

// field is one key of a table.
type field struct {
	name string
	kind reflect.Type
}

// keysOf lists the keys of a struct type, those of embedded ones among them.
func keysOf(t reflect.Type) []field {
	var fields []field
	for i := range t.NumField() {
		f := t.Field(i)
		if f.Anonymous {
			fields = append(fields, keysOf(f.Type)...)
			continue
		}
		fields = append(fields, field{f.Tag.Get("koanf"), f.Type})
	}
	return fields
}

func fieldOf(fields []field, name string) (field, bool) {
	for _, f := range fields {
		if f.name == name {
			return f, true
		}
	}
	return field{}, false
}
