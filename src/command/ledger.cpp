#include "record/ledger.h"

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <filesystem>
#include <fstream>
#include <functional>
#include <memory>
#include <ostream>
#include <set>
#include <sstream>

#include "base/error.h"
#include "command/commands.h"
#include "command/ledger_use.h"
#include "procedure/library.h"
#include "record/conflicts.h"
#include "record/exchange.h"
#include "record/verify.h"

namespace stopledger {

namespace {

namespace fs = std::filesystem;

/// Writes a file that must not be there yet; on failure nothing of it is left.
void write_new(const std::string& path, const std::function<void(std::ostream&)>& write) {
  if (fs::exists(path)) throw Error(ErrorKind::file, {path}, "exists already; choose another name");
  const std::string unfinished = path + ".unfinished";
  try {
    std::ofstream out(unfinished, std::ios::binary | std::ios::trunc);
    if (!out)
      throw Error(ErrorKind::file, {path}, "cannot be written; check folder and permissions");
    write(out);
    out.close();
    if (!out) throw Error(ErrorKind::file, {path}, "could not be written (disk full?)");
    fs::rename(unfinished, path);
  } catch (...) {
    std::error_code ignored;
    fs::remove(unfinished, ignored);
    throw;
  }
}

void print(Context& context, const Verification& verification) {
  for (const auto& problem : verification.problems) context.out << "PROBLEM  " << problem << "\n";
  for (const auto& repaired : verification.repaired)
    context.out << "made anew: " << repaired << "\n";
  context.out << fmt::format(
      "{} entries and {} kept files examined: {}\n", verification.entries, verification.files,
      verification.problems.empty() ? "all digests hold"
                                    : fmt::format("{} problems", verification.problems.size()));
  if (!verification.problems.empty()) {
    context.out << "Keep a copy of the file as it is, and go back to the last backup.\n";
    context.exit = ExitCode::no;
  }
  context.out << "Last digest of the ledger: " << verification.last_digest << "\n";
}

void report(Context& context, const ImportReport& report) {
  context.out << fmt::format("{} entries added, {} were here already. Cars: {}\n", report.added,
                             report.known, fmt::join(report.cars, ", "));
  for (const auto& conflict : report.conflicts) context.out << "CONFLICT  " << conflict << "\n";
  if (!report.conflicts.empty()) context.exit = ExitCode::no;
}

/// The text of a procedure's file: the library's from the program, a person's own from disk.
std::string procedure_text_of(const Procedure& procedure) {
  for (const auto& file : library_files())
    if (file.name == procedure.file) return std::string(file.text);
  std::ifstream in(procedure.file, std::ios::binary);
  std::ostringstream text;
  text << in.rdbuf();
  if (!in) throw Error(ErrorKind::file, {procedure.file}, "cannot be read");
  return text.str();
}

/// The procedures that the car's records and rules name, as far as they are known here.
std::vector<CarriedProcedure> carried_procedures(Context& context, const Ledger& ledger,
                                                 const std::string& car) {
  std::set<std::string> used;
  for (const auto& record : ledger.records_of(car, true))
    if (const auto field = record.fields.find("procedure"); field != record.fields.end())
      used.insert(field->second.written);
  for (const auto& rule : ledger.car(car).rules) used.insert(rule.procedure);
  std::vector<CarriedProcedure> out;
  const auto known = load_procedures(own_procedures(context));
  for (const auto& id : used)
    if (const auto* procedure = look_up(known, id))
      out.push_back({id, procedure_text_of(*procedure)});
  return out;
}

/// Puts procedures that are not known here in the same words into `folder`, or says so.
void keep_procedures(Context& context, const std::vector<CarriedProcedure>& carried,
                     const std::string& folder) {
  const auto known = load_procedures(own_procedures(context));
  for (const auto& procedure : carried) {
    // The id becomes a file name: nothing but the letters that ids are made of.
    if (procedure.id.empty() || procedure.id.find_first_not_of(
                                    "abcdefghijklmnopqrstuvwxyz0123456789-") != std::string::npos)
      throw Error(ErrorKind::input, fmt::format("\"{}\" is no procedure id", procedure.id));
    const auto* here = look_up(known, procedure.id);
    if (here != nullptr && procedure_text_of(*here) == procedure.text) continue;
    if (folder.empty()) {
      context.out << fmt::format(
          "The file carries the procedure {}, which {}; --keep-procedures FOLDER keeps it.\n",
          procedure.id, here == nullptr ? "is not known here" : "reads differently here");
      continue;
    }
    fs::create_directories(folder);
    const auto path = (fs::path(folder) / (procedure.id + ".toml")).string();
    write_new(path, [&](std::ostream& out) { out << procedure.text; });
    context.out << "Procedure kept in " << path << "\n";
  }
}

}  // namespace

void add_ledger(CLI::App& app, Context& context) {
  struct Options {
    std::string file, car, csv, rename, procedures, digest, who;
  };
  const auto options = std::make_shared<Options>();
  auto* ledger = app.add_subcommand("ledger", "The ledger as a whole: verify, back up, share");
  ledger->require_subcommand(1);

  auto* verify = ledger->add_subcommand(
      "verify", "Examine everything: integrity, chain of digests, kept logs");
  verify->add_option("--digest", options->digest, "is this printed digest one of the chain?");
  verify->callback([options, &context] {
    auto file = open_ledger(context, Ledger::Mode::write);
    const auto verification = verify_ledger(file, !file.read_only(), options->digest);
    print(context, verification);
    if (verification.problems.empty())
      for (const auto& conflict : unsettled_conflicts(file, ""))
        context.out << "CONFLICT  " << conflict.text << "\n";
    if (options->digest.empty()) return;
    if (verification.digest_entry) {
      context.out << fmt::format(
          "The digest given stands at entry {}: everything up to there is as "
          "it was when it was printed.\n",
          *verification.digest_entry);
    } else {
      context.out << "The digest given is not one of this ledger: it is another ledger, or it was "
                     "altered after the digest was printed.\n";
      context.exit = ExitCode::no;
    }
  });

  auto* backup = ledger->add_subcommand(
      "backup", "Copy the ledger into a new file, also while others use it, and examine the copy");
  backup->add_option("file", options->file, "the new file")->required();
  backup->callback([options, &context] {
    const auto file = open_ledger(context, Ledger::Mode::read);
    const auto verification = backup_ledger(file, options->file);
    context.out << "Copied to " << options->file << "\n";
    print(context, verification);
  });

  auto* out = ledger->add_subcommand(
      "export", "Write the whole ledger, or one car, as a file that import reads back");
  out->add_option("file", options->file, "the new file, - for standard output");
  out->add_option("--car", options->car, "only this car; nothing of the others is in the file");
  out->add_option("--csv", options->csv, "write tables as CSV into this folder instead");
  out->callback([options, &context] {
    if (options->file.empty() == options->csv.empty())
      throw Error(ErrorKind::usage, "give either a file to write or --csv FOLDER");
    const auto file = open_ledger(context, Ledger::Mode::read);
    if (!options->csv.empty()) {
      export_csv(file, options->csv);
      context.out << "Tables written into " << options->csv << "\n";
      return;
    }
    const auto write = [&](std::ostream& stream) {
      if (options->car.empty()) return export_ledger(file, stream);
      export_car(file, options->car, carried_procedures(context, file, options->car), stream);
    };
    if (options->file == "-") return write(context.out);
    write_new(options->file, write);
    context.out << fmt::format("Written to {}\n", options->file);
  });

  auto* in = ledger->add_subcommand(
      "import", "Read a file that export wrote; what is here already is not doubled");
  in->add_option("file", options->file, "the file")->required();
  in->add_option("--as", options->rename, "name for the car here");
  in->add_option("--keep-procedures", options->procedures,
                 "folder for procedures that come with the car and are not known here");
  in->add_option("--who", options->who, "who imports it (STOPLEDGER_WHO)");
  in->callback([options, &context] {
    std::ifstream stream(options->file, std::ios::binary);
    if (!stream || fs::is_directory(options->file))
      throw Error(ErrorKind::file, {options->file}, "cannot be read");
    const bool is_new = !fs::exists(ledger_path(context));
    ImportReport done;
    try {
      auto file = open_ledger(context, Ledger::Mode::create);
      done = import_entries(file, stream, options->file, options->rename,
                            stamp_of(context, options->who));
    } catch (const Error&) {
      std::error_code ignored;
      if (is_new) fs::remove(ledger_path(context), ignored);
      throw;
    }
    report(context, done);
    keep_procedures(context, done.procedures, options->procedures);
  });
}

}  // namespace stopledger
