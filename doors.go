package main

import (
	"encoding/json"
	"fmt"
	"sync"

	"kitbell/bot/command"
	"kitbell/bot/door"
)

// mostPlans is how many plans are remembered for a department.
const mostPlans = 256

// rememberedDoors gives a plan that was made before for the same door and tools
// again: a door of which little is known takes a tenth of a second to plan, and
// the same few are asked for over and over.
type rememberedDoors struct {
	command.Doors
	mu    sync.Mutex
	plans map[string]door.Plan
}

func rememberDoors(doors command.Doors) *rememberedDoors {
	return &rememberedDoors{Doors: doors, plans: make(map[string]door.Plan)}
}

// Plan plans a door, or remembers.
func (m *rememberedDoors) Plan(request door.Request) (door.Plan, error) {
	key, err := json.Marshal(request)
	if err != nil {
		return door.Plan{}, fmt.Errorf("name door: %w", err)
	}
	m.mu.Lock()
	plan, ok := m.plans[string(key)]
	m.mu.Unlock()
	if ok {
		return plan, nil
	}
	if plan, err = m.Doors.Plan(request); err != nil {
		return plan, err
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	if len(m.plans) >= mostPlans {
		clear(m.plans)
	}
	m.plans[string(key)] = plan
	return plan, nil
}
