#include <algorithm>
#include <string>
#include <string_view>
#include <unordered_map>
#include <utility>

#include "log/cell.h"
#include "log/unit.h"

namespace stopledger {
namespace {

/// Words by meaning, folded, with | between them. Common practice in each language.
constexpr std::pair<StateWord, std::string_view> state_word_rows[] = {
    {StateWord::on,
     "on|active|true|t|yes|y|enabled|energised|energized|set|high|pressed|depressed|"
     "running|run|working|commanded|lit|fault|an|ein|aktiv|ja|wahr|bestromt|betatigt|"
     "gedruckt|angezogen|eingeschaltet|angesteuert|activee|alimente|alimentee|excite|"
     "excitee|enfonce|enfoncee|appuye|appuyee|attivato|attivata|premuto|eccitata|"
     "activado|activada|activa|pisado|pulsado|pa|aktiverad|nedtryckt|ingedrukt|"
     "ingeschakeld|oui|actif|marche|vrai|si|activo|encendido|attivo|acceso|verdadero|"
     "vero|till|aan|actief"},
    {StateWord::off,
     "off|inactive|not active|false|f|no|n|disabled|de-energised|de-energized|"
     "deenergised|deenergized|not energised|not energized|clear|cleared|reset|low|"
     "not pressed|stopped|stop|idle|rest|not commanded|unlit|ok|not applied|aus|"
     "inaktiv|nicht aktiv|nein|falsch|unbestromt|nicht gedruckt|unbetatigt|gelost|"
     "losgelassen|abgefallen|ruhe|ruhestellung|ausgeschaltet|nicht angesteuert|"
     "desactive|desactivee|non actif|repos|au repos|disattivato|disattivata|"
     "non attivo|non premuto|diseccitata|riposo|inactiva|desactivado|desactivada|"
     "suelto|no pisado|no activo|reposo|av|uitgeschakeld|nicht betatigt|non|inactif|"
     "arret|faux|inactivo|apagado|inattivo|spento|falso|fran|uit|inactief"},
    {StateWord::open, "open|opened|offen|auf|oppen|ouvert|ouverte|abierto|abierta|aperto|aperta"},
    {StateWord::closed,
     "closed|close|shut|zu|geschlossen|stangd|dicht|ferme|fermee|cerrado|cerrada|"
     "chiuso|chiusa"},
    {StateWord::apply,
     "apply|applied|build|build-up|increase|rise|reapply|re-apply|normal|montee|"
     "aumento|aumentar|aufbau"},
    {StateWord::hold,
     "hold|holding|maintain|keep|isolate|isolated|maintien|mantenimento|mantener|"
     "halten"},
    {StateWord::release,
     "release|released|dump|decrease|reduce|decay|vent|relache|relachee|baisse|chute|"
     "rilasciato|diminuzione|reducir|abbau"},
};

}  // namespace

std::optional<StateWord> parse_state_word(std::string_view cell) {
  const auto text = trim(cell);
  if (text.empty() || text.size() > 20) return std::nullopt;
  static const auto words = [] {
    std::unordered_map<std::string, StateWord> table;
    for (const auto& [means, list] : state_word_rows)
      for (std::size_t at = 0; at < list.size();) {
        const auto end = std::min(list.find('|', at), list.size());
        table.emplace(list.substr(at, end - at), means);
        at = end + 1;
      }
    return table;
  }();
  const auto found = words.find(fold_text(text));
  return found == words.end() ? std::nullopt : std::optional(found->second);
}

}  // namespace stopledger
