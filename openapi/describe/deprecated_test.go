package describe

import "testing"

// A field is marked by the words of its comment, and no other is.
func TestDeprecatedFieldsAreMarked(t *testing.T) {
	old := object{"description": "Metres. Deprecated: since 2027-03-01, gone from 2028-03-01; use left_m."}
	kept := object{"description": "The distance left to the hole."}
	deprecateFields(object{"properties": object{"leave_m": old, "left_m": kept}})
	if old["deprecated"] != true || kept["deprecated"] != nil {
		t.Errorf("a deprecated field became %v, and another %v", old, kept)
	}
}
