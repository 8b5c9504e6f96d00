// Makes calls as a program in another language would, with nothing but the folder ./contract. Standard input is a JSON list of
// {service, method, request, gzip}, the first argument an address; standard output is the list of what came back:
// {code, message, details, answer, bytes}, bytes being how many the server sent.
const fs = require('fs')
const net = require('net')
const grpc = require('@grpc/grpc-js')
const loader = require('@grpc/proto-loader')

const files = ['catalog_service', 'rulebook_service', 'selection_service'].map(name => `drillwright/v1/${name}.proto`)
const contract = loader.loadSync([...files, 'google/rpc/status.proto', 'google/rpc/error_details.proto'],
  { includeDirs: ['contract'], keepCase: true, enums: String, longs: String })
const { v1 } = grpc.loadPackageDefinition(contract).drillwright
const policy = fs.readFileSync('contract/service_config.json', 'utf8')

// details are what stands in an error beside its message, read by the types that the contract's folder holds.
function details (err) {
  return err.metadata.get('grpc-status-details-bin').flatMap(status => contract['google.rpc.Status'].deserialize(status).details)
    .map(({ type_url: url, value }) => {
      const type = url.split('/').pop()
      return { type, value: contract[type].deserialize(value) }
    })
}

// relay passes on what it gets to the server, and back, and counts the latter.
function relay (address) {
  const [host, port] = address.split(':')
  const relayed = { bytes: 0 }
  const listener = net.createServer(near => {
    const far = net.connect(port, host)
    far.on('data', chunk => { relayed.bytes += chunk.length })
    near.pipe(far).pipe(near)
    near.on('error', () => far.destroy())
    far.on('error', () => near.destroy())
  })
  relayed.stop = () => listener.close()
  return new Promise(resolve => listener.listen(0, '127.0.0.1', () => {
    relayed.address = `127.0.0.1:${listener.address().port}`
    resolve(relayed)
  }))
}

async function call (address, { service, method, request, gzip }) {
  const way = await relay(address)
  const client = new v1[service](way.address, grpc.credentials.createInsecure(), {
    'grpc.service_config': policy,
    'grpc.default_compression_algorithm': gzip ? grpc.compressionAlgorithms.gzip : grpc.compressionAlgorithms.identity
  })
  const result = await new Promise(resolve => client[method](request, { deadline: Date.now() + 20000 }, (err, answer) => {
    resolve(err ? { code: err.code, message: err.details, details: details(err) } : { code: grpc.status.OK, answer })
  }))
  client.close()
  way.stop()
  return { ...result, bytes: way.bytes }
}

async function main () {
  const results = []
  for (const one of JSON.parse(fs.readFileSync(0, 'utf8'))) {
    results.push(await call(process.argv[2], one))
  }
  console.log(JSON.stringify(results))
}

main()
