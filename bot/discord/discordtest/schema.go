package discordtest

import (
	"encoding/json"
	"errors"
	"fmt"
	"slices"

	"github.com/getkin/kin-openapi/openapi3"
)

// Schema is the platform's published OpenAPI description, which bodies are checked against.
type Schema struct{ doc *openapi3.T }

// LoadSchema reads the description from a file.
func LoadSchema(path string) (*Schema, error) {
	doc, err := openapi3.NewLoader().LoadFromFile(path)
	if err != nil {
		return nil, fmt.Errorf("reading Discord's description: %w", err)
	}
	prepare(doc)
	return &Schema{doc: doc}, nil
}

// prepare lets default_member_permissions be a string, which is the documentation's own type, and
// turns constants into enumerations of one, which is all the validator looks at.
func prepare(doc *openapi3.T) {
	for _, ref := range doc.Components.Schemas {
		for _, one := range ref.Value.OneOf {
			if one.Value.Const != nil {
				one.Value.Enum = []any{one.Value.Const}
			}
		}
		p := ref.Value.Properties["default_member_permissions"]
		if p != nil && p.Value.Type != nil && !p.Value.Type.Includes("string") {
			types := append(slices.Clone(*p.Value.Type), "string")
			p.Value.Type = &types
		}
	}
}

// check validates a JSON body sent to a path of the description, named by its template.
func (s *Schema) check(method, template string, body []byte) error {
	if s == nil {
		return nil
	}
	item := s.doc.Paths.Value(template)
	if item == nil || item.GetOperation(method) == nil {
		return fmt.Errorf("%s %s is not in Discord's description", method, template)
	}
	request := item.GetOperation(method).RequestBody
	if request == nil {
		if len(body) > 0 {
			return errors.New("a body where none is described")
		}
		return nil
	}
	var value any
	if err := json.Unmarshal(body, &value); err != nil {
		return fmt.Errorf("a body that is no JSON: %w", err)
	}
	return request.Value.Content["application/json"].Schema.Value.VisitJSON(value, openapi3.DisableSchemaErrorDetails())
}
