package bench

import (
	"encoding/json"
	"fmt"
	"regexp"
	"strings"
)

// schemaFaults checks a value against the part of JSON Schema 2020-12 that the
// product's schemas use, and fails loudly on a word it does not know.
func schemaFaults(schema []byte, v any) ([]string, error) {
	var root map[string]any
	if err := json.Unmarshal(schema, &root); err != nil {
		return nil, err
	}
	c := &schemaChecker{root: root}
	c.check("", root, v)
	return c.faults, c.err
}

type schemaChecker struct {
	root   map[string]any
	faults []string
	err    error
}

func (c *schemaChecker) fault(at, format string, a ...any) {
	c.faults = append(c.faults, at+": "+fmt.Sprintf(format, a...))
}

func (c *schemaChecker) check(at string, s map[string]any, v any) {
	for word, arg := range s {
		switch word {
		case "$schema", "$id", "title", "description", "$defs", "examples":
		case "$ref":
			name := strings.TrimPrefix(arg.(string), "#/$defs/")
			def, ok := c.root["$defs"].(map[string]any)[name].(map[string]any)
			if !ok {
				c.err = fmt.Errorf("no definition %q", name)
				return
			}
			c.check(at, def, v)
		case "oneOf", "anyOf":
			n := 0
			for _, alt := range arg.([]any) {
				sub := &schemaChecker{root: c.root}
				sub.check(at, alt.(map[string]any), v)
				if len(sub.faults) == 0 {
					n++
				}
			}
			if n == 0 || word == "oneOf" && n > 1 {
				c.fault(at, "%d of %s hold", n, word)
			}
		case "enum":
			found := false
			for _, e := range arg.([]any) {
				found = found || e == v
			}
			if !found {
				c.fault(at, "%v is none of %v", v, arg)
			}
		case "type":
			if !isType(arg.(string), v) {
				c.fault(at, "%v (%T) is no %s", v, v, arg)
			}
		default:
			c.checkPart(at, word, arg, s, v)
		}
	}
}

func (c *schemaChecker) checkPart(at, word string, arg any, s map[string]any, v any) {
	object, _ := v.(map[string]any)
	list, isList := v.([]any)
	text, isText := v.(string)
	num, isNum := number64(v)
	limit, _ := number64(arg)
	bad := false
	switch word {
	case "required":
		for _, k := range arg.([]any) {
			if _, ok := object[k.(string)]; object != nil && !ok {
				c.fault(at, "no %v", k)
			}
		}
	case "properties":
		for k, sub := range arg.(map[string]any) {
			if x, ok := object[k]; ok {
				c.check(at+"/"+k, sub.(map[string]any), x)
			}
		}
	case "additionalProperties":
		known, _ := s["properties"].(map[string]any)
		for k := range object {
			if _, ok := known[k]; !ok {
				c.fault(at, "unknown key %s", k)
			}
		}
	case "items":
		for i, x := range list {
			c.check(fmt.Sprintf("%s/%d", at, i), arg.(map[string]any), x)
		}
	case "minItems":
		bad = isList && float64(len(list)) < limit
	case "maxItems":
		bad = isList && float64(len(list)) > limit
	case "minLength":
		bad = isText && float64(len([]rune(text))) < limit
	case "pattern":
		bad = isText && !regexp.MustCompile(arg.(string)).MatchString(text)
	case "minimum":
		bad = isNum && num < limit
	case "maximum":
		bad = isNum && num > limit
	case "exclusiveMinimum":
		bad = isNum && num <= limit
	case "exclusiveMaximum":
		bad = isNum && num >= limit
	default:
		c.err = fmt.Errorf("schema word %q is not known to this checker", word)
	}
	if bad {
		c.fault(at, "%v breaks %s %v", v, word, arg)
	}
}

func number64(v any) (float64, bool) {
	switch x := v.(type) {
	case float64:
		return x, true
	case int64:
		return float64(x), true
	}
	return 0, false
}

func isType(name string, v any) bool {
	_, num := number64(v)
	switch name {
	case "object":
		_, ok := v.(map[string]any)
		return ok
	case "array":
		_, ok := v.([]any)
		return ok
	case "string":
		_, ok := v.(string)
		return ok
	case "boolean":
		_, ok := v.(bool)
		return ok
	case "integer":
		_, ok := v.(int64)
		return ok
	case "number":
		return num
	}
	return false
}
