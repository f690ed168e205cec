package repo

import (
	"reflect"
	"strings"
	"unicode/utf8"

	"gorm.io/gorm"
)

// PostgreSQL keeps no NUL and nothing but UTF-8; SQLite keeps anything. What
// one engine cannot keep is refused on both, before any row is written.

// refuseTexts makes GORM look at every row that it is about to write.
func refuseTexts(db *gorm.DB) error {
	if err := db.Callback().Create().Before("gorm:create").Register("repo:texts", checkTexts); err != nil {
		return err
	}
	return db.Callback().Update().Before("gorm:update").Register("repo:texts", checkTexts)
}

func checkTexts(tx *gorm.DB) {
	if !storable(reflect.ValueOf(tx.Statement.Dest)) {
		_ = tx.AddError(errText())
	}
}

// storable reports whether all texts in a row, some rows or a map of columns
// can be kept.
func storable(v reflect.Value) bool {
	switch v.Kind() {
	case reflect.String:
		s := v.String()
		return utf8.ValidString(s) && !strings.ContainsRune(s, 0)
	case reflect.Pointer, reflect.Interface:
		return v.IsNil() || storable(v.Elem())
	case reflect.Struct:
		for _, field := range v.Fields() {
			if !storable(field) {
				return false
			}
		}
	case reflect.Slice:
		if v.Type().Elem().Kind() == reflect.Uint8 {
			return true // bytes are bytes
		}
		for i := range v.Len() {
			if !storable(v.Index(i)) {
				return false
			}
		}
	case reflect.Map:
		for _, key := range v.MapKeys() {
			if !storable(v.MapIndex(key)) {
				return false
			}
		}
	}
	return true
}
