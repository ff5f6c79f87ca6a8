package exchange

import "fmt"

// Stocks gives the forms of stock in the order of the year.
func Stocks() []Stock { return []Stock{Stools, Unrooted, Rooted, Plants} }

// Of counts a form of stock: "1 rooted cutting", "4 stools".
func (s Stock) Of(n int) string {
	if n == 1 {
		return "1 " + string(s[:len(s)-1])
	}
	return fmt.Sprintf("%d %s", n, string(s))
}
