package terminal

import (
	"bytes"
	"encoding/json"
	"time"

	"shortday/bot"
	"shortday/knowledge/fault"
)

// answer is the shape of a reply as JSON; its keys stay as they are.
type answer struct {
	Request  string    `json:"request"`
	Title    string    `json:"title"`
	Text     string    `json:"text"`
	Rows     []object  `json:"rows"`
	Private  bool      `json:"private"`
	Files    []file    `json:"files"`
	Next     []next    `json:"next"`
	Refusal  *refusal  `json:"refusal"`
	Instants []instant `json:"instants,omitempty"`
}

// instant is one that the text names, by its words there.
type instant struct {
	Words string    `json:"words"`
	At    time.Time `json:"at"` // by the clock by which it was told
}

type file struct {
	Name string `json:"name"`
	Type string `json:"type"`
	Alt  string `json:"alt"`
	Size int    `json:"size"` // bytes
	Path string `json:"path,omitempty"`
}

type next struct {
	Label   string `json:"label"`
	Request string `json:"request"`
}

type refusal struct {
	Kind fault.Kind `json:"kind"`
	Text string     `json:"text"`
}

// object is a row under its columns' keys, in the columns' order.
type object struct {
	columns []bot.Column
	cells   []bot.Cell
}

func (o object) MarshalJSON() ([]byte, error) {
	b := []byte{'{'}
	for i, c := range o.columns {
		key, err := json.Marshal(c.Key)
		if err != nil {
			return nil, err
		}
		value, err := o.cells[i].MarshalJSON()
		if err != nil {
			return nil, err
		}
		if i > 0 {
			b = append(b, ',')
		}
		b = append(append(append(b, key...), ':'), value...)
	}
	return append(b, '}'), nil
}

// JSON gives a reply as one line, with the request as it was typed. Kept holds the path of each file that was kept.
func JSON(request string, reply bot.Reply, kept []string) ([]byte, error) {
	a := answer{
		Request: request, Title: reply.Title, Text: reply.Text, Private: reply.Private,
		Rows: []object{}, Files: []file{}, Next: []next{}, Refusal: (*refusal)(reply.Refusal),
	}
	for _, cells := range reply.Rows.Rows {
		a.Rows = append(a.Rows, object{reply.Rows.Columns, cells})
	}
	for i, f := range reply.Files {
		a.Files = append(a.Files, file{Name: f.Name, Type: f.Type, Alt: f.Alt, Size: len(f.Data)})
		if i < len(kept) {
			a.Files[i].Path = kept[i]
		}
	}
	for _, n := range reply.Next {
		a.Next = append(a.Next, next(n))
	}
	for _, i := range reply.Instants {
		a.Instants = append(a.Instants, instant{i.String(), i.At})
	}
	var line bytes.Buffer
	enc := json.NewEncoder(&line)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(a); err != nil {
		return nil, err
	}
	return line.Bytes(), nil
}
