package describe

import (
	"fmt"
	"strings"

	"fringework/api"
	"fringework/domain"
)

// sayWhoMay says in every operation's description which roles may call it, and
// which scope keys and apps need. It fails for an operation without a route.
func sayWhoMay(doc object, routes []api.Route) error {
	byName := map[string]api.Route{}
	for _, r := range routes {
		byName[r.Method+" "+r.Path] = r
	}
	for _, op := range operations(doc) {
		name := strings.ToUpper(op.method) + " " + op.path
		r, ok := byName[name]
		if calculation := strings.HasPrefix(op.path, "/v1/calc/"); calculation {
			r, ok = byName["POST /v1/calc/{name}"]
		}
		if !ok {
			return fmt.Errorf("describe: %s has no route", name)
		}
		if r.Public {
			continue
		}
		told, _ := op.value["description"].(string)
		op.value["description"] = strings.TrimSpace(told + "\n\n" + whoMay(r))
	}
	return nil
}

// whoMay says it in words: "For owners and coaches. Scope of keys and apps: `progress:read`."
func whoMay(r api.Route) string {
	p := r.Permission()
	who := "For every member"
	if len(p.Roles) < len(domain.Roles()) {
		names := make([]string, len(p.Roles))
		for i, role := range p.Roles {
			names[i] = plural(role)
		}
		who = "For " + names[0]
		if last := len(names) - 1; last > 0 {
			who = "For " + strings.Join(names[:last], ", ") + " and " + names[last]
		}
	}
	if p.Anywhere {
		who += ", also before an academy is chosen"
	}
	if p.Scope == "" {
		return who + ". Not for keys or apps."
	}
	return fmt.Sprintf("%s. Scope of keys and apps: `%s`.", who, p.Scope)
}

func plural(r domain.Role) string {
	if strings.HasSuffix(string(r), "ch") {
		return string(r) + "es"
	}
	return string(r) + "s"
}
