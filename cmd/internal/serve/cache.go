package serve

import "sync"

// A cache keeps the byte strings that were put last.
type cache struct {
	mu     sync.Mutex
	most   int
	values map[string][]byte
	order  []string // oldest in front
}

func newCache(most int) *cache { return &cache{most: most, values: map[string][]byte{}} }

func (c *cache) get(key string) ([]byte, bool) {
	c.mu.Lock()
	defer c.mu.Unlock()
	b, ok := c.values[key]
	return b, ok
}

func (c *cache) put(key string, value []byte) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if _, there := c.values[key]; !there {
		c.order = append(c.order, key)
		if len(c.order) > c.most {
			delete(c.values, c.order[0])
			c.order = c.order[1:]
		}
	}
	c.values[key] = value
}
