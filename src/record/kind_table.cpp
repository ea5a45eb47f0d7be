#include "record/event_fields.h"
#include "record/test_fields.h"

namespace stopledger {

namespace {

using namespace kind_fields;

constexpr std::array kind_rows{
    Kind{"fluid-test", "fluid condition test", fluid_test, "method", "result"},
    Kind{"fluid-change", "fluid change", fluid_change},
    Kind{"re-flush", "short re-flush", re_flush},
    Kind{"lamp-check", "lamp and code check", lamp_check, {}, "result"},
    Kind{"level-check", "level, leak and pedal check", level_check, {}, "result"},
    Kind{"pump-run", "pump run", pump_run, {}, "result"},
    Kind{"valve-test", "lifted-wheel valve test", valve_test, {}, "result"},
    Kind{"pressure-test", "static active-pressure test", pressure_test, {}, "result"},
    Kind{"depressurise", "store depressurised", depressurise},
    Kind{"store-test", "high-pressure store test", store_test, {}, "result"},
    Kind{"roll-check", "wheel-speed roll check", roll_check, {}, "result"},
    Kind{"self-test", "drive-off self-test", self_test, {}, "result"},
    Kind{"session", "session on the lot", session},
    Kind{"exercise", "exercise", exercise, "procedure", "result"},
    Kind{"after-run", "after-run check", after_run, {}, "result"},
    Kind{"unit-bleed", "automated unit bleed", unit_bleed, {}, "result"},
    Kind{"sensor-zero", "sensor zero", sensor_zero, "what", "result"},
    Kind{"hose-look", "hoses and rubber looked at", hose_look, {}, "result"},
    Kind{"fault", "fault", fault},
    Kind{"repair", "repair", repair},
    Kind{"part", "part replaced", part, "part"},
    Kind{"change", "change to the car", change, "what"},
    Kind{"odometer", "odometer reading", {}},
    Kind{"cluster-replaced", "instrument cluster replaced", cluster_replaced},
    Kind{"storage-begin", "storage begins", storage_begin},
    Kind{"storage-end", "storage ends", storage_end},
    Kind{"postponed", "postponed", postponed, "procedure"},
    Kind{"note", "note", note},
    Kind{"channel-map", "channel map of a recorder", channel_map, "wording"},
};

}  // namespace

std::span<const Kind> record_kinds() { return kind_rows; }

}  // namespace stopledger
